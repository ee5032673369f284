"""Which earlier value a reviewer's takes the place of; cases worked by hand."""

from typing import Any

import pytest

from assessments.engine.standard import load_standard
from assessments.queries.reviews.second import SecondScore, standing_rows, with_second_scores
from tests.assessments.builders import LEVELS, ONE_ASSESSOR, criterion

# Levels 0, 1 and 2 of two points score 0, 1/2 and 1.
STANDARD = load_standard(
    {
        "schema": "bankermark/standard/1",
        "program": {"code": "P", "version": 1, "title": "Dutchman repair"},
        "outcomes": [{"key": "O1", "statement": "Sets a dutchman", "minimum": None}],
        "stages": [{"key": "fit", "title": "Dry fit", "hold_point": False}],
        "dimensions": {},
        "criteria": [
            criterion("C1", "fit", "rated", levels=LEVELS, met_from=1, not_applicable=True),
            criterion("C2", "fit", "checked", expected=True),
        ],
        "pass_rule": ONE_ASSESSOR,
    }
)


def row(name: str, assessor: str, value: Any, **changes: Any) -> dict[str, Any]:
    base = {
        "id": name,
        "subject": {"kind": "criterion", "key": "C1"},
        "assessor": assessor,
        "value": value,
        "note": "",
        "replaces": None,
    }
    return {**base, **changes}


def left(rows: list[dict[str, Any]], value: Any) -> list[str]:
    """Return the ids of the observations once a reviewer's score R stands among them."""
    document = {"schema": "bankermark/observations/1", "attempt": "a", "observations": rows}
    made = with_second_scores(STANDARD, document, [SecondScore("R", "C1", "9", value)])
    assert document["observations"] == rows  # what was handed in is as it was
    return [each["id"] for each in made["observations"]]


@pytest.mark.parametrize(
    ("levels", "given", "stays"),
    [
        ((0, 2), 2, ["b"]),  # 0 is 1 away from 1
        ((0, 2), 0, ["a"]),
        ((0, 2), 1, ["b"]),  # both 1/2 away: the lowest goes
        ((1, 2), 0, ["a"]),
        ((1, 1), 2, ["b"]),  # as far and as low: the first by id
    ],
)
def test_the_farthest_by_score_gives_way(
    levels: tuple[int, int], given: int, stays: list[str]
) -> None:
    rows = [row("a", "1", {"level": levels[0]}), row("b", "2", {"level": levels[1]})]
    assert left(rows, {"level": given}) == [*stays, "R"]


def test_what_has_no_score_is_farthest() -> None:
    rows = [
        row("a", "1", {"level": 0}),
        row("b", "2", {"not_applicable": True, "reason": "No such arris."}),
    ]
    assert left(rows, {"level": 2}) == ["a", "R"]


def test_what_was_corrected_goes_with_its_correction() -> None:
    rows = [
        row("a", "1", {"level": 2}),
        row("b", "1", {"level": 0}, replaces="a"),
        row("c", "2", {"level": 2}),
        row("d", "2", {"answer": True}, subject={"kind": "criterion", "key": "C2"}),
    ]
    assert left(rows, {"level": 2}) == ["c", "d", "R"]


def test_where_nobody_observed_the_score_is_added() -> None:
    assert left([], {"level": 2}) == ["R"]
    rows = [row("a", "1", {"level": 2}), row("b", "1", {"cleared": True}, replaces="a")]
    assert standing_rows({"observations": rows}) == []
    assert left(rows, {"level": 2}) == ["a", "b", "R"]
