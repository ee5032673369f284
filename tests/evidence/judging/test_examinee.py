"""The methods that start from scored work: what they refuse, and how they say it."""

from __future__ import annotations

from math import nan
from typing import Any

import numpy as np
import pytest

from assessments.evidence.errors import EvidenceError
from assessments.evidence.judging import borderline_regression, contrasting_groups, hofstee
from assessments.evidence.judging.crossing import Normal, between, normal_crossings
from assessments.evidence.results import NotComputed, section_document
from tests.evidence.judging.builders import figure, named, reason, table

RATINGS = [1, 2, 2, 3, 4, 4, 5]
SCORES = [0.40, 0.50, 0.55, 0.62, 0.74, 0.70, 0.85]
HELD = [False, False, True, False, True, True]
OVERLAP = [0.4, 0.5, 0.6, 0.7, 0.8, 0.9]


def test_borderline_tells_its_figures() -> None:
    found = borderline_regression(RATINGS, SCORES)
    cut = figure(found.cut)
    slope, intercept = np.polyfit(RATINGS, SCORES, 1)
    assert cut.value == pytest.approx(intercept + 3 * slope)
    assert figure(named(found.section, "slope")).value == pytest.approx(slope)
    for key in ("slope", "intercept", "r_squared", "residual_sd"):
        each = figure(named(found.section, key))
        assert each.low is not None
        assert each.high is not None
        assert each.low < each.value < each.high
    assert table(found.section, "ratings").rows[1] == pytest.approx((2.0, 2, 0.525, 0.5, 0.55))
    assert len(found.section.drawings) == 1


@pytest.mark.parametrize(
    ("ratings", "scores", "words"),
    [
        ([], [], "there are 0"),
        ([2, 4], [0.5, 0.8], "there are 2"),
        ([3, 3, 3], [0.5, 0.6, 0.7], "same rating"),
        ([1, 3, 5], [0.6, 0.6, 0.6], "same score"),
        ([3.5, 4, 5], [0.5, 0.6, 0.7], "above the borderline"),
        ([1, 2, 2.5], [0.5, 0.6, 0.7], "below the borderline"),
        ([1, 3, 5], [0.8, 0.7, 0.6], "talk over"),
        ([1, 1, 2, 2, 4], [0.5, 0.6, 0.5, 0.6, 0.55], "talk over"),
        ([1, 2.9, 2.95, 3], [0.0, 0.98, 1.0, 1.0], "outside 0 to 100 %"),
    ],
)
def test_borderline_without_a_cut(ratings: Any, scores: Any, words: str) -> None:
    found = borderline_regression(ratings, scores)
    assert words in reason(found.cut)
    assert words in found.section.summary


def test_exact_line_has_no_error() -> None:
    found = borderline_regression([1, 2, 3, 4], [0.3, 0.4, 0.5, 0.6])
    assert figure(found.cut).value == pytest.approx(0.5)
    assert figure(found.cut).standard_error is None
    assert "on the line" in reason(named(found.section, "band"))


def test_weak_line_is_said() -> None:
    found = borderline_regression([1, 2, 3, 4, 5], [0.5, 0.7, 0.4, 0.8, 0.6])
    assert any("rests on little" in note for note in figure(found.cut).notes)
    assert not any(
        "little" in note for note in figure(borderline_regression(RATINGS, SCORES).cut).notes
    )


@pytest.mark.parametrize(
    ("ratings", "scores", "borderline", "path"),
    [
        (RATINGS, [*SCORES[:-1], 1.2], 3, "scores[6]"),
        (RATINGS, [*SCORES[:-1], nan], 3, "scores[6]"),
        ([nan, *RATINGS[1:]], SCORES, 3, "ratings[0]"),
        (RATINGS[:-1], SCORES, 3, "ratings"),
        (["good"] * 7, SCORES, 3, "ratings"),
        ([RATINGS], SCORES, 3, "ratings"),
        (RATINGS, SCORES, nan, "borderline"),
    ],
)
def test_borderline_names_what_cannot_be_used(
    ratings: Any, scores: Any, borderline: float, path: str
) -> None:
    with pytest.raises(EvidenceError) as caught:
        borderline_regression(ratings, scores, borderline=borderline)
    assert caught.value.path == path


def test_groups_that_overlap() -> None:
    found = contrasting_groups(HELD, OVERLAP)
    cut = figure(found.cut)
    assert cut.value == pytest.approx(0.65)
    assert cut.standard_error is not None
    assert figure(named(found.section, "band")).value == pytest.approx(
        1.96 * cut.standard_error, rel=1e-4
    )
    assert figure(named(found.section, "crossing_equal")).value == pytest.approx(0.65)


@pytest.mark.parametrize(
    ("scores", "ends"), [([0.5, 0.6, 0.7, 0.9], (0.6, 0.7)), ([0.5, 0.6, 0.6, 0.9], (0.6, 0.6))]
)
def test_parted_groups_have_a_gap_and_no_error(
    scores: list[float], ends: tuple[float, float]
) -> None:
    found = contrasting_groups([False, False, True, True], scores)
    cut = figure(found.cut)
    assert cut.value == pytest.approx(sum(ends) / 2)
    assert (cut.low, cut.high, cut.standard_error) == (None, None, None)
    assert (
        figure(named(found.section, "gap_low")).value,
        figure(named(found.section, "gap_high")).value,
    ) == ends
    assert "perfect separation" in found.section.summary
    assert "no standard error" in reason(named(found.section, "band"))
    assert all(result.key != "slope" for result in found.section.figures)


@pytest.mark.parametrize(
    ("held", "scores", "words"),
    [
        ([], [], "No attempt"),
        ([True, True], [0.5, 0.6], "held competent"),
        ([False, False], [0.5, 0.6], "not yet competent"),
        ([True, False], [0.5, 0.5], "same score"),
        ([True, True, False, False], [0.4, 0.5, 0.6, 0.7], "does not score higher"),
        ([True, False, True, False], [0.4, 0.5, 0.6, 0.7], "does not score higher"),
        ([True, False, False, True], [0.4, 0.5, 0.6, 0.7], "do not tell the groups apart"),
        (
            [True, False, True, True, True, True],
            [0.6, 0.65, 0.7, 0.66, 0.62, 0.68],
            "outside 0 to 100 %",
        ),
    ],
)
def test_groups_without_a_cut(held: Any, scores: Any, words: str) -> None:
    found = contrasting_groups(held, scores)
    assert words in reason(found.cut)
    assert words in found.section.summary
    assert section_document(found.section)["figures"][0]["not_computed"]


def test_small_group_has_no_crossing() -> None:
    section = contrasting_groups([False, True, True], [0.5, 0.6, 0.8]).section
    assert "two attempts" in reason(named(section, "crossing_equal"))


def test_few_scores_give_a_crossing_without_interval() -> None:
    crossing = figure(
        named(
            contrasting_groups([False, False, True, True], [0.5, 0.6, 0.7, 0.8]).section,
            "crossing_equal",
        )
    )
    assert (crossing.low, crossing.high) == (None, None)
    assert "none" in crossing.interval


def test_second_crossing_is_said() -> None:
    held = [False] * 4 + [True] * 4
    scores = [0.3, 0.4, 0.6, 0.72, 0.70, 0.72, 0.76, 0.78]
    section = contrasting_groups(held, scores).section
    crossing = figure(named(section, "crossing_equal"))
    assert any("a second time at" in note for note in crossing.notes)


@pytest.mark.parametrize(
    ("lower", "upper", "share", "number"),
    [
        (Normal(50, 8), Normal(70, 6), 0.5, 2),
        (Normal(50, 8), Normal(70, 8), 0.5, 1),
        (Normal(50, 8), Normal(50, 8), 0.5, 0),
        (Normal(50, 8), Normal(52, 4), 0.01, 0),
    ],
)
def test_number_of_crossings(lower: Normal, upper: Normal, share: float, number: int) -> None:
    assert len(normal_crossings(lower, upper, share)) == number


def test_crossing_outside_the_means_is_no_answer() -> None:
    # So few are competent that the others are denser even at the competent mean.
    lower, upper = Normal(0.5, 0.2), Normal(0.6, 0.2)
    assert normal_crossings(lower, upper, 0.02)[0] > 0.6
    assert between(lower, upper, 0.02) is None
    assert between(upper, lower, 0.5) is None
    assert between(lower, lower, 0.5) is None


@pytest.mark.parametrize(
    ("competent", "words"),
    [
        ([0.35, 0.85], "do not cross between the groups' means, but at"),
        ([0.45, 0.65], "do not cross: one group is denser at every score"),
        ([0.25, 0.45], "does not score higher on average"),
    ],
)
def test_missing_crossing_is_said(competent: list[float], words: str) -> None:
    others = [0.3, 0.4, 0.5, 0.5, 0.5, 0.55, 0.6, 0.7, 0.8]
    section = contrasting_groups([False] * 9 + [True] * 2, others + competent).section
    assert words in reason(named(section, "crossing_observed"))


@pytest.mark.parametrize(
    ("held", "scores", "path"),
    [
        ([0, 1, 2], [0.5, 0.6, 0.7], "competent[2]"),
        ([True, False], [0.5, 0.6, 0.7], "competent"),
        ([True, False], [0.5, 1.6], "scores[1]"),
        ([True, None], [0.5, 0.6], "competent[1]"),
    ],
)
def test_groups_name_what_cannot_be_used(held: Any, scores: Any, path: str) -> None:
    with pytest.raises(EvidenceError) as caught:
        contrasting_groups(held, scores)
    assert caught.value.path == path


def test_sense_check_says_that_it_is_none_but_that() -> None:
    found = hofstee(OVERLAP, 0.5, 0.8, 0.1, 0.6)
    assert "does not replace" in found.section.summary
    assert any("never the recommendation" in note for note in found.section.notes)


@pytest.mark.parametrize(
    ("scores", "side"),
    [
        ([0.1, 0.2, 0.3, 0.9], "above the line"),
        ([0.8, 0.9, 0.95, 1.0], "below the line"),
        ([], "no scores"),
    ],
)
def test_sense_check_without_crossing(scores: list[float], side: str) -> None:
    found = hofstee(scores, 0.5, 0.7, 0.05, 0.4)
    assert side in reason(found.cut)
    assert side in found.section.summary
    assert isinstance(named(found.section, "failing"), NotComputed)


def test_sense_check_on_the_corners() -> None:
    # Just as many fail at the lowest cut as may: that is the crossing.
    assert figure(hofstee([0.4, 0.6, 0.8, 0.9, 0.95], 0.5, 0.7, 0.0, 0.2).cut).value == 0.5
    # The line is met at the highest cut alone, which is no whole number of steps up.
    assert figure(hofstee([0.6] + [0.9] * 9, 0.5, 0.655, 0.1, 0.9, step=0.1).cut).value == 0.655


def test_marks_below_the_cut_fail_and_marks_on_it_do_not() -> None:
    found = hofstee([0.6] * 5 + [0.9] * 5, 0.5, 0.7, 0.1, 0.6)
    assert figure(found.cut).value == pytest.approx(0.61)
    failing = figure(named(found.section, "failing"))
    assert failing.value == 0.5
    assert failing.low is not None
    assert 0 < failing.low < 0.5


@pytest.mark.parametrize(
    ("arguments", "path"),
    [
        ((OVERLAP, 0.7, 0.5, 0.1, 0.6), "least_cut"),
        ((OVERLAP, nan, 0.5, 0.1, 0.6), "least_cut"),
        ((OVERLAP, -0.1, 0.5, 0.1, 0.6), "least_cut"),
        ((OVERLAP, 0.5, 0.7, 0.6, 0.1), "least_fail"),
        ((OVERLAP, 0.5, 0.7, 0.1, 1.1), "least_fail"),
        (([50, 60], 0.5, 0.7, 0.1, 0.6), "scores"),
        (([-0.1, 0.6], 0.5, 0.7, 0.1, 0.6), "scores"),
        (([nan, 0.6], 0.5, 0.7, 0.1, 0.6), "scores[0]"),
    ],
)
def test_sense_check_names_what_cannot_be_used(arguments: Any, path: str) -> None:
    with pytest.raises(EvidenceError) as caught:
        hofstee(*arguments)
    assert caught.value.path == path


@pytest.mark.parametrize("step", [0.0, -0.1, 0.3, nan])
def test_step_must_fit(step: float) -> None:
    with pytest.raises(EvidenceError, match="step"):
        hofstee(OVERLAP, 0.5, 0.7, 0.1, 0.6, step=step)


@pytest.mark.parametrize("seed", [1, 2])
def test_same_seed_same_figures(seed: int) -> None:
    assert contrasting_groups(HELD, OVERLAP, seed=seed) == contrasting_groups(
        HELD, OVERLAP, seed=seed
    )
    assert hofstee(OVERLAP, 0.5, 0.8, 0.1, 0.6, seed=seed) == hofstee(
        OVERLAP, 0.5, 0.8, 0.1, 0.6, seed=seed
    )
