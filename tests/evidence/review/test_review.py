"""The review counts what was scored, says why it cannot count, and advises by its rules."""

from __future__ import annotations

import re
from typing import Any

import numpy as np
import pytest

from assessments.evidence.results import Figure, NotComputed, Result, section_document
from assessments.evidence.review import CriterionReview, review_criteria, review_section
from tests.evidence.review.builders import cohort, item, scores

GAP = float("nan")


def only(shares: Any, **facts: Any) -> CriterionReview:
    return review_criteria(scores(shares, **facts))[0]


def value(result: Result) -> float:
    assert isinstance(result, Figure), result
    return result.value


def reason(result: Result) -> str:
    assert isinstance(result, NotComputed), result
    return result.reason


def test_a_score_that_reaches_the_level_is_met() -> None:
    rated = (item("C0", kind="rated", met_share=2 / 3), item("C1"))
    review = only([[2 / 3, 1], [1.0, 1], [1 / 3, 1], [GAP, 1]], items=rated)
    assert value(review.met) == pytest.approx(2 / 3)
    assert isinstance(review.met, Figure)
    assert review.met.n == 3
    assert value(review.mean) == pytest.approx(2 / 3)


def test_the_mean_of_two_assessors_counts() -> None:
    rated = (item("C0", kind="rated", met_share=0.5),)
    review = only([[[0.0, 1.0]], [[0.0, 0.4]], [[GAP, 0.6]]], items=rated)
    assert value(review.met) == pytest.approx(2 / 3)
    assert value(review.mean) == pytest.approx((0.5 + 0.2 + 0.6) / 3)


def test_the_rest_leaves_the_criterion_out_and_weighs_the_others() -> None:
    shares = np.array([[1, 0.0, 0.0], [0, 0.2, 0.3], [1, 0.4, 0.2], [0, 0.6, 1.0], [1, 1, 0.9]])
    weights = (item("C0", weight=5.0), item("C1", weight=1.0), item("C2", weight=3.0))
    review = only(shares, items=weights)
    rest = (shares[:, 1] + 3 * shares[:, 2]) / 4
    assert value(review.item_rest) == pytest.approx(np.corrcoef(shares[:, 0], rest)[0, 1])


@pytest.mark.parametrize(
    ("shares", "why"),
    [
        ([[1, 0.1], [0, 0.2], [1, 0.3], [0, 0.4]], "At least 5 trainees are needed; 4 were"),
        ([[1, 0.1], [1, 0.2], [1, 0.3], [1, 0.4], [1, 0]], "Everyone has the same score"),
        ([[1, 0.1], [0, 0.1], [1, 0.1], [0, 0.1], [1, 0.1]], "Everyone did equally well"),
        ([[1.0], [0], [1], [0], [1]], "At least 5 trainees are needed; 0 were"),
    ],
)
def test_a_correlation_that_there_is_not_says_why(shares: Any, why: str) -> None:
    assert reason(only(shares).item_rest).startswith(why)


def test_groups_of_the_best_and_the_poorest() -> None:
    rest = np.arange(12) / 12
    shares = np.stack([[0, 0, 1, 1, 0, 1, 0, 1, 0, 1, 1, 1], rest], axis=1)
    found = only(shares).upper_lower
    assert value(found) == pytest.approx(1 - 1 / 3)
    assert isinstance(found, Figure)
    assert found.n == 6
    assert reason(only(shares[:9]).upper_lower).startswith("Groups of at least 3 need 10 trainees")


def test_ties_go_into_the_groups_whatever_the_order_of_the_trainees() -> None:
    rest = np.array([0, 0, 0, 0, 0, 0.5, 0.5, 1, 1, 1, 1, 1.0])
    mine = np.array([1, 0, 0, 0, 0, 1, 0, 1, 1, 1, 1, 0.0])
    order = np.random.default_rng(1).permutation(12)
    there = only(np.stack([mine, rest], axis=1)).upper_lower
    back = only(np.stack([mine, rest], axis=1)[order]).upper_lower
    assert value(there) == pytest.approx(0.8 - 0.2)
    assert there == back
    tied = np.stack([mine, [0, *[0.5] * 10, 1]], axis=1)
    assert reason(only(tied).upper_lower) == "Too many trainees did equally well on the rest."


def test_against_the_standard_itself() -> None:
    shares = [[1, 1], [1, 1], [0, 1], [1, 0], [0, 0], [0, 0]]
    results = ("met", "met", "met", "not_yet_met", "not_yet_met", "incomplete")
    assert value(only(shares, results=results).by_result) == pytest.approx(2 / 3 - 1 / 2)
    assert reason(only(shares).by_result) == "All of those scored met the standard."
    none = ("not_yet_met",) * 6
    assert reason(only(shares, results=none).by_result) == "None of those scored met the standard."
    few = ("met", "not_yet_met", "", "", "", "")
    assert reason(only(shares, results=few).by_result).startswith("At least 5 trainees")


def test_what_does_not_apply_is_no_gap_and_what_is_open_is_none_yet() -> None:
    applies = np.array([[True], [True], [False], [True]])
    results = ("met", "incomplete", "", "")
    review = only([[1], [GAP], [GAP], [GAP]], applies=applies, results=results)
    assert value(review.missing) == 0.5
    still_open = only([[1.0]], results=("",))
    assert reason(still_open.missing) == "It applied in no attempt that has ended."
    # A share that was recorded where the criterion was then held not to apply does not count.
    struck = only([[1.0], [0.0]], applies=np.array([[True], [False]]))
    assert value(struck.met) == 1.0


def test_minutes_and_lone_decisions() -> None:
    minutes = np.array([[3.0], [9.0], [4.0], [GAP]])
    alone = np.array([[True], [False], [True], [False]])
    results = ("not_yet_met", "not_yet_met", "met", "not_yet_met")
    review = only([[0], [0], [1], [0]], minutes=minutes, alone=alone, results=results)
    assert value(review.minutes) == 4.0
    assert isinstance(review.minutes, Figure)
    assert review.minutes.low is None
    assert value(review.alone) == pytest.approx(1 / 3)
    assert reason(only([[1.0]]).minutes) == "No time was taken."
    assert reason(only([[1.0]]).alone) == "Nobody has not yet met the standard."


def advised(shares: Any, **facts: Any) -> str:
    return " ".join(only(shares, **facts).advice)


def test_advice_names_its_figures() -> None:
    critical = (item("C0", critical=True),)
    assert "Everyone met it (3 of 3)" in advised([[1], [1], [1]])
    assert "only if the work needs it" in advised([[1], [1], [1]])
    assert "it is critical" in advised([[1], [1], [1]], items=critical)
    assert "Nobody met it (0 of 2)" in advised([[0], [0]])
    assert advised([[GAP], [GAP]]).startswith("Nobody was scored on it yet.")
    assert "2 of 4 attempts" in advised([[1], [0], [GAP], [GAP]])
    assert advised([[1], [0]]) == ""


def test_advice_on_discrimination() -> None:
    rest = np.arange(20) / 20
    against = np.stack([np.repeat([1, 0], 10), rest], axis=1)
    beside = np.stack([np.tile([1, 0], 10), rest], axis=1)
    along = np.stack([np.repeat([0, 1], 10), rest], axis=1)
    assert re.search(r"tended to miss it \(correlation -0\.87, -0\.\d\d to ", advised(against))
    assert "hardly goes along with the rest of the work (correlation -0.09" in advised(beside)
    assert advised(along) == ""


def test_advice_on_lone_decisions_needs_two() -> None:
    alone = np.array([[True], [True], [False], [False]])
    results = ("not_yet_met", "not_yet_met", "not_yet_met", "met")
    shares = [[0], [0], [1], [1]]
    assert "It alone decided 2 of 3 decisions" in advised(shares, alone=alone, results=results)
    one = ("not_yet_met", "met", "met", "met")
    assert advised(shares, alone=alone, results=one) == ""


def test_the_section_names_those_to_look_at_and_fills_its_tables() -> None:
    section = review_section(scores([[1, 0, 0.2], [1, 1, 0.9], [1, 1, 0.8]]))
    assert section.summary.startswith("2 of 3 criteria ask for a look: Criterion C0; ")
    tables = {table.key: table for table in section.tables}
    assert list(tables) == ["advice", "difficulty", "discrimination", "practice"]
    assert tables["difficulty"].rows[0][:3] == ("Criterion C0", 3, 1.0)
    assert "At least 5 trainees are needed" in str(tables["discrimination"].rows[0][-1])
    assert [drawing.key for drawing in section.drawings] == ["review-met", "review-rest"]
    assert "Criterion C0 1.00" in section.drawings[0].alternative
    assert "Criterion C0 not computed" in section.drawings[1].alternative


def test_a_cohort_gives_a_document_without_floats_and_always_the_same() -> None:
    found = section_document(review_section(cohort()))
    assert found == section_document(review_section(cohort()))

    def walk(part: Any) -> None:
        assert not isinstance(part, float)
        if isinstance(part, (dict, list)):
            for inner in part.values() if isinstance(part, dict) else part:
                walk(inner)

    walk(found)
    assert len(found["tables"][0]["rows"]) == 14
    assert all("not_computed" not in figure for figure in found["figures"])


def test_nobody_and_nothing() -> None:
    for shape in ((0, 3, 2), (3, 0, 2), (0, 0, 0)):
        section = review_section(scores(np.zeros(shape)))
        assert section.summary == "There are no criteria and trainees to review yet."
        assert section.drawings == ()
    lost = review_section(scores(np.full((3, 2, 2), np.nan), results=("", "", "")))
    assert lost.summary.startswith("2 of 2 criteria ask for a look")
    assert all(isinstance(figure, NotComputed) for figure in lost.figures)
