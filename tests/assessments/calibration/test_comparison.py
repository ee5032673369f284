"""The figures of an assessor beside agreed scores: worked by hand, and by other libraries."""

from dataclasses import dataclass
from fractions import Fraction
from statistics import fmean
from typing import Any

import pytest
from sklearn.metrics import accuracy_score

from assessments.comparison import Compared, Tally, compare, shortfalls, tally
from assessments.engine.standard import load_standard
from assessments.models import SealedStandard
from tests.assessments.builders import LEVELS, criterion, make_standard
from tests.assessments.calibration.builders import AGREED, TOO_WIDE, WITHIN
from tests.factories import make_organisation, make_program

pytestmark = pytest.mark.django_db
AWAY = {"not_applicable": True, "reason": "No void can form here."}


@dataclass(frozen=True)
class Asked:
    """What a program asks."""

    pieces: int = 1
    months: int = 12
    exact: str = "0.8"
    bias: str = "0.1"


def sealed() -> SealedStandard:
    return make_standard(make_program(make_organisation()))


def beside(agreed: dict[str, Any], **given: Any) -> list[Compared]:
    return compare(load_standard(sealed().document), agreed, {**agreed, **given})


def test_levels_are_the_same_or_not_and_lean() -> None:
    # Levels of 0, 1, 2 points: shares 0, 1/2, 1. Agreed on 1, given 2: half the scale too much.
    (row,) = beside({"C1": {"level": 1}}, C1={"level": 2})
    assert (row.same, row.difference) == (False, Fraction(1, 2))
    (row,) = beside({"C1": {"level": 1}}, C1={"level": 0})
    assert (row.same, row.difference) == (False, Fraction(-1, 2))
    (row,) = beside({"C1": {"level": 1}})
    assert (row.same, row.difference) == (True, Fraction(0))


def test_other_readings_with_the_same_result_are_as_agreed() -> None:
    other = {"readings": [{"typed": "3 mm", "value": "3", "unit": "mm"}] * 2}
    (row,) = beside({"C2": AGREED["C2"]}, C2=other)
    assert (row.agreed.result, row.given.result, row.same) == ("met", "met", True)


def test_within_the_guard_band_is_not_the_same_as_not_met() -> None:
    (row,) = beside({"C2": WITHIN}, C2=TOO_WIDE)
    assert (row.agreed.result, row.given.result) == ("within_guard_band", "not_met")
    # Both score nothing, so they do not lean, and yet are not the same.
    assert (row.same, row.difference) == (False, Fraction(0))


def test_what_is_held_not_to_apply_is_no_score() -> None:
    (row,) = beside({"C4": AGREED["C4"]}, C4=AWAY)
    assert (row.same, row.difference) == (False, None)
    (row,) = beside({"C4": AWAY}, C4={**AWAY, "reason": "Solid stone."})
    assert (row.same, row.difference) == (True, None)
    assert tally([row]) == Tally(1, 1, None)


def test_a_tally_worked_by_hand() -> None:
    # C1: 1/2 -> 1 (+1/2); C2: met -> not met (-1); C3 to C5 as agreed: 3 of 5 are the same,
    # the mean of +1/2, -1, 0, 0, 0 is -1/10.
    rows = beside(AGREED, C1={"level": 2}, C2=TOO_WIDE)
    assert [row.criterion.key for row in rows] == ["C1", "C2", "C3", "C4", "C5"]
    found = tally(rows)
    assert found == Tally(5, 3, Fraction(-1, 10))
    assert found.share == Fraction(3, 5)


def test_other_libraries_find_the_same_share_and_mean() -> None:
    # Source: scikit-learn's accuracy_score (share of equal labels), Python's statistics.fmean.
    rows = beside(AGREED, C1={"level": 0}, C3={"answer": False}, C5={**AGREED["C5"]})
    agreed = [f"{row.agreed.result} {row.agreed.score}" for row in rows]
    given = [f"{row.given.result} {row.given.score}" for row in rows]
    found = tally(rows)
    assert found.share is not None
    assert found.bias is not None
    assert float(found.share) == pytest.approx(accuracy_score(agreed, given), abs=1e-12)
    differences = [float(row.difference) for row in rows if row.difference is not None]
    assert float(found.bias) == pytest.approx(fmean(differences), abs=1e-12)


def test_thirds_stay_exact() -> None:
    levels = [{"points": str(n), "description": f"Step {n}"} for n in range(4)]
    rated = criterion("C1", "fit", "rated", levels=levels, met_from=1)
    program = make_program(make_organisation())
    document = make_standard(program, criteria=[rated]).document
    rows = compare(load_standard(document), {"C1": {"level": 1}}, {"C1": {"level": 2}})
    assert tally(rows).bias == Fraction(1, 3)
    assert shortfalls(Asked(exact="0", bias="1/3"), 1, tally(rows)) == []
    # 0.333 is a little less than a third.
    assert len(shortfalls(Asked(exact="0", bias="0.333"), 1, tally(rows))) == 1
    assert len(LEVELS) == 3


def test_exactly_what_is_asked_for_is_enough() -> None:
    assert shortfalls(Asked(), 1, Tally(5, 4, Fraction(1, 10))) == []
    assert shortfalls(Asked(), 1, Tally(5, 4, Fraction(-1, 10))) == []


@pytest.mark.parametrize(
    ("pieces", "found", "said"),
    [
        (
            0,
            Tally(0, 0, None),
            "0 of 1 reference piece scored within 12 months: 1 more is needed.",
        ),
        (
            1,
            Tally(5, 3, Fraction(0)),
            "3 of 5 criteria scored exactly as agreed; 80 % is asked for, which is 4 of them: "
            "1 too few.",
        ),
        # Four fifths of seven are 5.6: six are needed.
        (
            1,
            Tally(7, 5, Fraction(0)),
            "5 of 7 criteria scored exactly as agreed; 80 % is asked for, which is 6 of them: "
            "1 too few.",
        ),
        (
            1,
            Tally(8, 8, Fraction(1, 8)),
            "The scores lie 12.5 % above the agreed ones on average; at most 10 % either way is "
            "allowed: 2.5 % too much.",
        ),
        (
            1,
            Tally(8, 8, Fraction(-1, 8)),
            "The scores lie 12.5 % below the agreed ones on average; at most 10 % either way is "
            "allowed: 2.5 % too much.",
        ),
        (
            1,
            Tally(1, 1, None),
            "No criterion has a score on both sides, so no mean difference can be taken.",
        ),
    ],
)
def test_what_is_missing_is_said_by_how_much(pieces: int, found: Tally, said: str) -> None:
    assert shortfalls(Asked(), pieces, found) == [said]
