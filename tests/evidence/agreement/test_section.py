"""The section on agreement between assessors, and what it names."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from assessments.evidence.agreement import agreement_section
from assessments.evidence.agreement.ac1 import gwet_ac1
from assessments.evidence.agreement.alpha import krippendorff_alpha
from assessments.evidence.agreement.criteria import LOW, PERHAPS
from assessments.evidence.agreement.kappa import cohen_kappa
from assessments.evidence.agreement.overall import decisions, overall_scores, score_results
from assessments.evidence.agreement.units import double_scored, level_pairs, pair_tables
from assessments.evidence.errors import EvidenceError
from assessments.evidence.results import Figure, NotComputed, Section, Table
from tests.evidence.agreement.cohorts import NAN, checked, cohort, drawn, levels, rated


def table(section: Section, key: str) -> Table:
    return next(each for each in section.tables if each.key == key)


def keys(section: Section) -> list[str]:
    return [each.key for each in section.tables]


def figure(section: Section, key: str) -> Figure:
    found = next(each for each in section.figures if each.key == key)
    assert isinstance(found, Figure), found
    return found


def test_counts_by_hand() -> None:
    # Six trainees, five scored by both: three the same, one a level apart, one two levels.
    scores = cohort((rated(),), levels((0, 0), (1, 2), (3, 3), (1, 3), (2, 2), (3, NAN)))
    section = agreement_section(scores)
    assert figure(section, "double_scored").value == 5
    assert (figure(section, "exact").value, figure(section, "exact").n) == (0.6, 5)
    assert figure(section, "adjacent").value == 0.8
    # Met from level 2: (0,0) no no; (1,2) no yes; (3,3) yes yes; (1,3) no yes; (2,2) yes yes.
    # p_o = 3/5, p_e = .4 * .8 + .6 * .2 = .44 for kappa.
    assert figure(section, "met_kappa").value == pytest.approx((0.6 - 0.44) / 0.56)
    # The overall score is that of the one criterion, the cut .7 above level 2.
    assert figure(section, "decisions").value == pytest.approx(4 / 5)
    assert table(section, "agreement_decisions").rows == (
        ("Every assessor's scores reach the cut", 1),
        ("No assessor's scores reach the cut", 3),
        ("They differ", 1),
    )
    assert table(section, "agreement_levels_r").rows == (
        ("Level 0", 1, 0, 0, 0),
        ("Level 1", None, 0, 1, 1),
        ("Level 2", None, None, 1, 0),
        ("Level 3", None, None, None, 1),
    )
    assert "5 of 6 attempts" in section.summary
    assert "60% of these 5 scores" in section.summary


def test_levels_that_are_confused_are_named() -> None:
    pairs = [(1, 2)] * 6 + [(2, 1)] * 4 + [(0, 1), (3, 3), (0, 0)]
    scores = cohort((rated(), checked()), [[*row, [1.0, 1.0]] for row in levels(*pairs)])
    section = agreement_section(scores)
    (row,) = table(section, "agreement_advice").rows
    assert row[:2] == ("Head joints filled", LOW)
    assert row[-1] == (
        "Assessors tell level 1 from 2 differently (10 of 11 differences): look at the "
        "descriptions of these levels together. This decides whether the criterion is met."
    )
    assert "Agreement is low on: Head joints filled." in section.summary
    assert "Squeeze-out" not in section.summary


@pytest.mark.parametrize(
    ("same", "unlike", "named"),
    # By the interval of Clopper and Pearson: 1 of 4 reaches .8059, 1 of 5 only .7164.
    [(1, 3, PERHAPS), (1, 4, LOW), (0, 1, PERHAPS), (8, 2, None), (4, 0, None)],
)
def test_low_only_where_the_whole_interval_is(same: int, unlike: int, named: str | None) -> None:
    values = [[[1.0, 1.0]]] * same + [[[1.0, 0.0]]] * unlike
    section = agreement_section(cohort((checked(),), values))
    if named is None:
        assert "agreement_advice" not in keys(section)
        assert "No criterion stands out" in section.summary
        return
    (row,) = table(section, "agreement_advice").rows
    assert row[1] == named
    assert ("Too few attempts" in str(row[-1])) == (named == PERHAPS)
    assert "how it is worded" in str(row[-1])


def test_limit_can_be_set() -> None:
    values = [[[1.0, 1.0]]] * 8 + [[[1.0, 0.0]]] * 2
    section = agreement_section(cohort((checked(),), values), least=0.9)
    assert table(section, "agreement_advice").rows[0][1] == PERHAPS
    assert "below 90%" in section.notes[0]


def test_two_pairs_confused_as_often_are_both_named() -> None:
    pairs = [(0, 1)] * 4 + [(2, 3)] * 4
    section = agreement_section(cohort((rated(),), levels(*pairs)))
    advice = str(table(section, "agreement_advice").rows[0][-1])
    assert "level 0 from 1 and 2 from 3 differently (4 of 8 differences each)" in advice
    assert "decides" not in advice


def test_agreement_throughout_keeps_an_interval() -> None:
    pairs = [(0, 0), (1, 1), (2, 2), (3, 3)] * 3
    section = agreement_section(cohort((rated(),), levels(*pairs)))
    for key in ("met_kappa", "met_ac1", "met_alpha"):
        found = figure(section, key)
        assert found.value == 1
        assert found.low is not None
        assert 0 < found.low < 1
        assert "no difference was seen" in found.interval
    # Half met: AC1's chance is 1/2; twelve of twelve are at least .7354 (Clopper-Pearson).
    assert figure(section, "met_ac1").low == pytest.approx(1 - (1 - 0.7354) / 0.5, abs=1e-4)
    assert not [key for key in keys(section) if key.startswith("agreement_levels")]


def test_all_met_leaves_kappa_out_and_keeps_ac1() -> None:
    section = agreement_section(cohort((checked(),), [[[1.0, 1.0]]] * 6))
    missing = {each.key: each for each in section.figures if isinstance(each, NotComputed)}
    assert set(missing) == {"adjacent", "met_kappa", "met_alpha", "icc_single", "icc_mean"}
    assert "unlike quality" in missing["met_kappa"].reason
    assert figure(section, "met_ac1").value == 1
    gaps = {row[0] for row in table(section, "agreement_missing").rows}
    assert "Agreement beyond chance (kappa)" in gaps


def test_criteria_without_a_figure_for_one_reason_share_a_row() -> None:
    items = (checked("C1", "Wedged dry"), checked("C2", "Swept"))
    section = agreement_section(cohort(items, [[[1.0, 1.0], [1.0, 1.0]]] * 6))
    rows = table(section, "agreement_missing").rows
    kappa = [row for row in rows if row[0] == "Agreement beyond chance (kappa)"]
    assert [row[2] for row in kappa] == ["Wedged dry; Swept"]


@pytest.mark.parametrize(
    ("values", "words"),
    [
        (np.empty((0, 1, 2)), "Fewer than two assessors"),
        (np.empty((3, 1, 0)), "Fewer than two assessors"),
        ([[[1.0]], [[0.0]]], "Fewer than two assessors"),
        ([[[1.0, NAN]], [[NAN, 0.0]]], "Nothing was scored by two assessors"),
    ],
)
def test_nothing_scored_twice(values: Any, words: str) -> None:
    section = agreement_section(cohort((checked(),), values))
    assert all(isinstance(each, NotComputed) for each in section.figures)
    assert words in section.summary
    assert (section.tables, section.drawings) == ((), ())


def test_criteria_that_do_not_apply_are_left_out() -> None:
    scores = cohort((checked(),), [[[1.0, 0.0]], [[1.0, 1.0]]])
    scores = replace(scores, applies=np.array([[False], [True]]))
    section = agreement_section(scores)
    assert (figure(section, "exact").value, figure(section, "exact").n) == (1, 1)
    nothing = replace(scores, applies=np.zeros((2, 1), dtype=bool))
    assert "Nothing that applies" in agreement_section(nothing).summary


def test_no_cut_no_side() -> None:
    found, counted = decisions(cohort((checked(),), [[[1.0, 1.0]]], cut=None))
    assert isinstance(found, NotComputed)
    assert "no overall cut" in found.reason
    assert counted is None


def test_overall_scores_are_weighted_and_whole() -> None:
    items = (rated(weight=3.0), checked())
    scores = cohort(items, [[[1 / 3, 1.0], [1.0, NAN]], [[0.0, 1.0], [0.0, 1.0]]])
    assert overall_scores(scores) == pytest.approx(np.array([[0.5, NAN], [0, 1]]), nan_ok=True)
    scores = replace(scores, applies=np.array([[True, False], [False, True]]))
    assert overall_scores(scores) == pytest.approx(np.array([[1 / 3, 1], [0, 1]]))
    light = cohort((rated(weight=0.0),), levels((1, 1)))
    assert np.isnan(overall_scores(light)).all()


def test_a_score_on_the_cut_reaches_it() -> None:
    # 0.7 as the mean of ten: 7 * (1/10) summed in floating point is below 0.7.
    items = tuple(checked(f"c{number}") for number in range(10))
    values = [[[1.0, 1.0]] * 7 + [[0.0, 0.0]] * 3]
    found, counted = decisions(cohort(items, values, cut=0.1 * 7))
    assert isinstance(found, Figure)
    assert counted is not None
    assert counted.rows[0] == ("Every assessor's scores reach the cut", 1)


def test_assessors_who_take_turns_are_one_way() -> None:
    turns = [(0, 0, NAN), (NAN, 2, 3), (1, NAN, 1), (3, 3, NAN), (NAN, 0, 1)]
    scores = cohort((rated(),), levels(*turns))
    single, mean, error = score_results(scores, samples=100, seed=1)
    assert isinstance(single, Figure)
    assert single.title.endswith("ICC(1,1)")
    assert isinstance(mean, NotComputed)
    assert isinstance(error, Figure)
    # Differences 0 1 0 0 1 levels of a third: W = (2 * (1/6)^2 * 2)/5, in points.
    assert error.value == pytest.approx(100 * (4 / 36 / 5) ** 0.5)


def test_pairs_count_both_ways_with_three_assessors() -> None:
    tables = pair_tables(np.array([[0.0, 1.0, 1.0], [1.0, 1.0, NAN]]), 2)
    assert tables[0] == pytest.approx(np.array([[0, 1 / 3], [1 / 3, 1 / 3]]))
    assert tables[1] == pytest.approx(np.array([[0, 0], [0, 1]]))
    two = pair_tables(np.array([[0.0, 1.0], [0.0, 1.0]]), 2)
    assert two.sum(axis=0).tolist() == [[0, 2], [0, 0]]


def test_a_share_between_levels_is_a_level_of_its_own() -> None:
    scores = cohort((checked(),), [[[0.5, 1.0]], [[0.0, 0.0]]])
    (units,) = double_scored(scores)
    assert units.steps.tolist() == [0, 0.5, 1]
    assert units.levels.tolist() == [[1, 2], [0, 0]]
    assert units.met_from == 2
    assert level_pairs(units.given).tolist() == [[1, 0, 0], [0, 0, 1], [0, 0, 0]]


def test_order_of_assessors_changes_nothing() -> None:
    scores = drawn(3)
    turned = replace(scores, values=scores.values[:, :, ::-1].copy())
    ours, theirs = agreement_section(scores), agreement_section(turned)
    assert ours.summary == theirs.summary
    for key in ("exact", "adjacent", "met_kappa", "met_ac1", "met_alpha", "icc_single", "sem"):
        a, b = figure(ours, key), figure(theirs, key)
        assert (a.value, a.low, a.high) == pytest.approx((b.value, b.low, b.high)), key
    assert table(ours, "agreement_criteria") == table(theirs, "agreement_criteria")
    assert table(ours, "agreement_levels_r0") == table(theirs, "agreement_levels_r0")


def test_the_same_seed_gives_the_same_section() -> None:
    scores = drawn(4, assessors=3)
    assert agreement_section(scores, seed=5) == agreement_section(scores, seed=5)
    assert agreement_section(scores, seed=5) != agreement_section(scores, seed=6)


def test_bootstrap_takes_whole_attempts() -> None:
    """Where the scores of an attempt go together, the interval over attempts is the wider one."""
    items = tuple(checked(f"c{number}", f"Checked {number}") for number in range(20))
    alike = np.array([number % 4 > 0 for number in range(16)])
    values = np.ones((16, 20, 2))
    values[~alike, :, 1] = 0
    for number in range(16):  # each criterion leaves out another attempt
        values[number, number, 1] = NAN
    section = agreement_section(cohort(items, values))
    (row,) = table(section, "agreement_intervals").rows
    wilson, over = (float(row[4]) - float(row[3]), float(row[8]) - float(row[7]))  # type: ignore[arg-type]
    assert over > 3 * wilson


def test_drawing_says_its_numbers() -> None:
    section = agreement_section(drawn(1))
    assert section.drawings[0].alternative.count("%") == 5 * 3
    assert "Rated 0" in section.drawings[0].svg


def test_settings_that_will_not_do() -> None:
    scores = drawn(1, people=4)
    with pytest.raises(EvidenceError, match="samples"):
        agreement_section(scores, samples=10)
    for least in (0, 1.2):
        with pytest.raises(EvidenceError, match="least"):
            agreement_section(scores, least=least)


def test_criteria_by_the_statistics_themselves() -> None:
    """The tables by criterion hold what the functions give for the levels of that criterion."""
    scores = drawn(2)
    section = agreement_section(scores)
    pairs = (scores.values[:, 0, :] * 3).round()
    counted = np.zeros((4, 4))
    np.add.at(counted, (pairs[:, 0].astype(int), pairs[:, 1].astype(int)), 1)
    by_function = (
        cohen_kappa(counted, weights="linear"),
        gwet_ac1(pairs, categories=range(4)),
        krippendorff_alpha(pairs, scale="ordinal"),
    )
    row = table(section, "agreement_chance").rows[0]
    for cell, expected in zip(row[1::3], by_function, strict=True):
        assert isinstance(expected, Figure)
        assert cell == pytest.approx(expected.value)


def test_two_levels_have_no_adjacent_agreement() -> None:
    section = agreement_section(drawn(2))
    graded, plain = (table(section, "agreement_criteria").rows[number] for number in (0, 3))
    assert None not in graded
    assert plain[5:] == (None, None, None)
    assert table(section, "agreement_criteria_exact").rows[3][3:] == (None, None)
