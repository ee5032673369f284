"""Angoff's and Ebel's methods: gaps, judges who agree, and what cannot be used."""

from __future__ import annotations

from math import nan
from typing import Any

import pytest

from assessments.evidence.errors import EvidenceError
from assessments.evidence.judging import DIFFICULTY, RELEVANCE, ebel, ebel_counts, when_to_use
from assessments.evidence.results import section_document
from tests.evidence.judging.builders import (
    ESTIMATES,
    ITEMS,
    JUDGES,
    figure,
    named,
    panel,
    reason,
    table,
)

EASY, HARD = ("essential", "easy"), ("essential", "hard")
SHARES = {EASY: 0.9, HARD: 0.6}


def ebel_panel(placements: Any = None, shares: Any = None, **changes: Any) -> Any:
    """Ebel's method on three judges and two criteria."""
    placed = [[EASY, HARD], [EASY, EASY], [HARD, HARD]] if placements is None else placements
    given: dict[str, Any] = {"judges": JUDGES, "items": ITEMS, "samples": 200} | changes
    return ebel(placed, [SHARES] * 3 if shares is None else shares, (1, 1), **given)


def test_cuts_are_weighted() -> None:
    found = panel(weights=(3, 1))
    rows = table(found.section, "judges").rows
    assert [row[1] for row in rows] == pytest.approx([0.65, 0.75, 0.775])
    assert [row[3] for row in rows] == pytest.approx([0.65 - 0.7625, 0.75 - 0.7125, 0.775 - 0.70])
    assert figure(found.cut).value == pytest.approx(0.725)
    assert any("unweighted" in note for note in found.section.notes)


def test_criteria_are_described() -> None:
    rows = table(panel().section, "criteria").rows
    assert rows[0][0] == "Face flush"
    assert rows[0][1:] == pytest.approx((1.0, 3, 0.7, 0.1, 0.6, 0.8))


@pytest.mark.parametrize("gap", [nan, None])
def test_judge_with_a_gap_is_left_out_and_named(gap: float | None) -> None:
    found = panel([[0.6, 0.8], [0.7, gap], [0.8, 0.7]])
    cut = figure(found.cut)
    assert cut.value == pytest.approx(0.725)
    assert cut.n == 2
    assert table(found.section, "gaps").rows == (("Ben", "Joint even", "no estimate"),)
    assert "Ben left a gap" in found.section.summary
    judges = table(found.section, "judges").rows
    assert judges[1][1] is None
    # The criterion's own figures count what was given, and nothing else.
    criteria = table(found.section, "criteria").rows
    assert [row[2] for row in criteria] == [3, 2]
    assert criteria[1][3] == pytest.approx(0.75)


def test_no_table_of_gaps_without_gaps() -> None:
    assert "gaps" not in [each.key for each in panel().section.tables]


@pytest.mark.parametrize(
    ("estimates", "judges", "words"),
    [
        ([], (), "no judges have"),
        ([[0.6, 0.8]], ("Ana",), "one judge has"),
        ([[0.6, 0.8], [nan, 0.8]], ("Ana", "Ben"), "one judge has"),
        ([[nan, nan], [nan, nan]], ("Ana", "Ben"), "no judges have"),
    ],
)
def test_fewer_than_two_whole_judges(estimates: Any, judges: Any, words: str) -> None:
    found = panel(estimates, judges=judges)
    assert words in reason(found.cut)
    assert "There is no recommended cut" in found.section.summary
    for key in ("band", "spread", "se_fixed", "variance_judge"):
        assert reason(named(found.section, key))
    assert section_document(found.section)["figures"][0]["not_computed"]


def test_judges_who_agree_give_no_standard_error() -> None:
    found = panel([[0.7, 0.8]] * 3)
    cut = figure(found.cut)
    assert cut.value == pytest.approx(0.75)
    assert (cut.low, cut.high, cut.standard_error) == (None, None, None)
    assert "do not differ" in reason(named(found.section, "band"))
    assert figure(named(found.section, "spread")).value == pytest.approx(0, abs=1e-12)


def test_one_criterion_has_a_cut_and_no_components() -> None:
    found = panel([[0.6], [0.7], [0.8]], (1,), items=("Face flush",))
    assert figure(found.cut).value == pytest.approx(0.7)
    assert "two criteria" in reason(named(found.section, "variance_residual"))


def test_negative_component_is_held_at_zero_and_named() -> None:
    section = panel([[0.6, 0.8], [0.8, 0.6], [0.7, 0.7]]).section
    judge = figure(named(section, "variance_judge"))
    assert judge.value == 0
    assert "Below zero" in judge.notes[0]


def test_band_is_half_the_interval() -> None:
    found = panel()
    cut, band = figure(found.cut), figure(named(found.section, "band"))
    assert cut.low is not None
    assert cut.high is not None
    assert band.value == pytest.approx((cut.high - cut.low) / 2)
    assert "4.303 times" in band.notes[1]


def test_interval_stays_within_the_scale() -> None:
    cut = figure(panel([[0.2, 0.2], [1.0, 1.0]], judges=("Ana", "Ben")).cut)
    assert (cut.low, cut.high) == (0.0, 1.0)
    assert any("cut off" in note for note in cut.notes)


def test_criteria_far_apart_are_named_widest_first() -> None:
    summary = panel([[0.2, 0.5], [0.9, 0.8], [0.6, 0.7]]).section.summary
    assert "far apart on Face flush (20 % to 90 %) and Joint even (50 % to 80 %)" in summary
    assert "far apart" not in panel().section.summary


def test_round_before_is_compared() -> None:
    section = panel(previous=[[0.5, 0.5], [nan, 0.9], [0.8, 0.7]]).section
    rows = table(section, "judges").rows
    assert rows[0][-2:] == pytest.approx((0.5, 0.2))
    assert rows[1][-2:] == (None, None)
    assert figure(named(section, "spread_before")).n == 2


def test_trimming_that_leaves_too_few() -> None:
    assert "fewer than two" in reason(panel(statistic="trimmed", trim=0.4).cut)


def test_statistics_differ_where_they_should() -> None:
    estimates = [[0.5, 0.5], [0.6, 0.6], [0.65, 0.65], [0.7, 0.7], [1.0, 1.0]]
    cuts = [
        figure(panel(estimates, judges=tuple("ABCDE"), statistic=statistic).cut).value
        for statistic in ("mean", "median", "trimmed")
    ]
    assert cuts == pytest.approx([0.69, 0.65, 0.65])


@pytest.mark.parametrize(
    ("changes", "path"),
    [
        ({"estimates": [[0.6, 1.1], [0.7, 0.9], [0.8, 0.7]]}, "estimates[0][1]"),
        ({"estimates": [[0.6, 0.8], [-0.1, 0.9], [0.8, 0.7]]}, "estimates[1][0]"),
        ({"estimates": [[0.6, 0.8], [0.7, float("inf")], [0.8, 0.7]]}, "estimates[1][1]"),
        ({"estimates": [[0.6, 0.8], [0.7], [0.8, 0.7]]}, "estimates"),
        ({"estimates": [[0.6, 0.8], [0.7, "much"], [0.8, 0.7]]}, "estimates"),
        ({"estimates": [[0.6, 0.8]]}, "estimates"),
        ({"weights": (1,)}, "weights"),
        ({"weights": (0, 0)}, "weights"),
        ({"weights": (1, -1)}, "weights[1]"),
        ({"weights": (nan, 1)}, "weights[0]"),
        ({"weights": (1, float("inf"))}, "weights[1]"),
        ({"weights": ("heavy", 1)}, "weights"),
        ({"items": (), "weights": ()}, "items"),
        ({"statistic": "mode"}, "statistic"),
        ({"statistic": "mode", "estimates": [], "judges": ()}, "statistic"),
        ({"statistic": "trimmed", "trim": 0.5}, "trim"),
        ({"statistic": "median", "samples": 1}, "samples"),
        ({"previous": [[0.6, 0.8]]}, "previous"),
        ({"previous": [[0.6, 2], [0.7, 0.9], [0.8, 0.7]]}, "previous[0][1]"),
    ],
)
def test_what_cannot_be_used_is_named(changes: dict[str, Any], path: str) -> None:
    given = {"estimates": ESTIMATES} | changes
    with pytest.raises(EvidenceError) as caught:
        panel(given.pop("estimates"), **given)
    assert caught.value.path == path


def test_error_names_judge_and_criterion() -> None:
    with pytest.raises(EvidenceError, match="Ben gave 7 for Face flush: give a share"):
        panel([[0.6, 0.8], [7, 0.9], [0.8, 0.7]])


def test_ebel_counts_cells_and_places() -> None:
    found = ebel_panel([[EASY, HARD], [EASY, EASY], [EASY, HARD]])
    assert figure(found.cut).value == pytest.approx((0.75 + 0.9 + 0.75) / 3)
    cells = table(found.section, "cells").rows
    assert len(cells) == len(RELEVANCE) * len(DIFFICULTY)
    used = [row for row in cells if row[2]]
    assert [row[:4] for row in used] == [("essential", "easy", 4, 3), ("essential", "hard", 2, 3)]
    assert used[1][4:] == pytest.approx((0.6, 0.6, 0.6))
    places = table(found.section, "placements").rows
    assert places[1] == ("Joint even", "essential 3", "easy 1, hard 2")


def test_ebel_gap_and_cell_without_share() -> None:
    placed = [[EASY, HARD], [EASY, None], [HARD, HARD], [EASY, EASY]]
    found = ebel_panel(
        placed, [SHARES, SHARES, {EASY: 0.9}, SHARES], judges=("Ana", "Ben", "Cy", "Di")
    )
    assert [row[:2] for row in table(found.section, "gaps").rows] == [
        ("Ben", "Joint even"),
        ("Cy", "Face flush"),
        ("Cy", "Joint even"),
    ]
    assert figure(found.cut).n == 2
    assert figure(found.cut).value == pytest.approx((0.75 + 0.9) / 2)


@pytest.mark.parametrize(
    ("placements", "shares", "path"),
    [
        ([[EASY, HARD]], None, "placements"),
        ([[EASY], [EASY, EASY], [HARD, HARD]], None, "placements"),
        ([[EASY, ("vital", "easy")], [EASY, EASY], [EASY, EASY]], None, "placements[0][1]"),
        ([[EASY, EASY], [("essential", "odd"), EASY], [EASY, EASY]], None, "placements[1][0]"),
        (None, [SHARES], "shares"),
        (None, [SHARES, {EASY: 1.2}, SHARES], "shares[1]"),
        (None, [SHARES, SHARES, {EASY: nan}], "shares[2]"),
        (None, [{("vital", "easy"): 0.5}, SHARES, SHARES], "shares[0]"),
    ],
)
def test_ebel_names_what_cannot_be_used(placements: Any, shares: Any, path: str) -> None:
    with pytest.raises(EvidenceError) as caught:
        ebel_panel(placements, shares)
    assert caught.value.path == path


def test_ebel_counts_without_items_or_shares() -> None:
    assert "count at least one" in reason(ebel_counts({EASY: 0}, SHARES))
    assert "essential and hard" in reason(ebel_counts({EASY: 1, HARD: 2}, {EASY: 0.9}))
    with pytest.raises(EvidenceError, match="0 or more"):
        ebel_counts({EASY: -1}, SHARES)


def test_every_method_says_when_to_use_it() -> None:
    methods = ("angoff", "ebel", "borderline", "contrasting", "hofstee")
    assert len({when_to_use(method) for method in methods}) == 5
    with pytest.raises(EvidenceError, match="angoff"):
        when_to_use("guess")
