"""The section of a report: what it shows, and what it says it cannot show."""

from __future__ import annotations

import numpy as np
import pytest

from assessments.evidence.dependability import dependability_section
from assessments.evidence.errors import EvidenceError
from assessments.evidence.results import Figure, NotComputed, Result, Section, section_document
from assessments.evidence.scores import Scores
from tests.evidence.dependability.cohorts import item, marks, scores_of


def section_of(scores: Scores, samples: int = 200) -> Section:
    return dependability_section(scores, samples=samples, seed=4)


def by_key(section: Section) -> dict[str, Result]:
    found = {result.key: result for result in section.figures}
    assert len(found) == len(section.figures), "keys are used once"
    return found


def reason(section: Section, key: str) -> str:
    found = by_key(section)[key]
    assert isinstance(found, NotComputed), found
    return found.reason


def test_double_marking() -> None:
    section = section_of(scores_of(marks(14, 9, 2)))
    found = by_key(section)
    one, two = found["assessors_1_phi"], found["assessors_2_phi"]
    assert isinstance(one, Figure)
    assert isinstance(two, Figure)
    assert one.value < two.value
    assert one.title.endswith("one assessor")
    assert section.summary.startswith(
        f"One assessor would give a dependability of {one.value:.2f} (Φ). Two assessors would"
    )
    assert "in 100" in section.summary
    assert "Take this as an indication" in section.summary
    keys = [table.key for table in section.tables]
    assert keys == [
        "assessors_components",
        "assessors_decision_study",
        "criteria_assessors_components",
        "criteria_assessors_decision_study",
        "components",
        "decision_study",
    ]
    assert any("double marking" in note for note in section.notes)
    section_document(section)


def test_decision_study_of_criteria_and_assessors() -> None:
    section = section_of(scores_of(marks(14, 9, 2)))
    table = next(one for one in section.tables if one.key == "criteria_assessors_decision_study")
    sizes = [row[:2] for row in table.rows]
    assert sizes == [(i, r) for i in (5, 9, 10, 15, 20) for r in (1, 2, 3)]
    errors = [row[2] for row in table.rows]
    assert errors[0] == max(errors, key=lambda cell: float(str(cell)))


def test_figures_of_one_scoring_are_indicative_and_have_intervals() -> None:
    found = by_key(section_of(scores_of(marks(40, 9))))
    for key in ("phi", "phi_cut", "kr20", "kr21", "k2", "huynh_agreement", "subkoviak_kappa"):
        figure = found[key]
        assert isinstance(figure, Figure)
        assert figure.indicative
        assert figure.low is not None
        assert figure.high is not None
        assert figure.low < figure.value < figure.high, key
        assert figure.interval.startswith("percentiles of 200 resamples of trainees, seed 4")
        assert figure.source


def test_assessors_of_many_trainees_are_more_than_indicative() -> None:
    found = by_key(section_of(scores_of(marks(30, 9, 2))))
    figure = found["assessors_2_phi"]
    assert isinstance(figure, Figure)
    assert not figure.indicative
    fewer = by_key(section_of(scores_of(marks(29, 9, 2))))["assessors_2_phi"]
    assert isinstance(fewer, Figure)
    assert fewer.indicative


def test_standard_error_at_the_cut() -> None:
    figure = by_key(section_of(scores_of(marks(20, 22))))["sem_cut"]
    assert isinstance(figure, Figure)
    assert figure.value == pytest.approx(0.1)  # sqrt(0.7 * 0.3 / 21)
    assert "between 0.60 and 0.80" in figure.notes[0]


def test_same_input_gives_the_same_section() -> None:
    scores = scores_of(marks(12, 8, 2))
    assert section_of(scores) == section_of(scores)
    other = dependability_section(scores, samples=200, seed=5)
    assert other.figures != section_of(scores).figures


def test_drawing_says_where_the_cut_stands() -> None:
    section = section_of(scores_of(marks(40, 9), cut=0.65))
    (drawing,) = section.drawings
    figure = by_key(section)["phi_cut"]
    assert isinstance(figure, Figure)
    assert f"cut of 0.65 it stands at {figure.value:.2f}" in drawing.alternative
    assert "cut 0.65" in drawing.svg
    assert "style=" not in drawing.svg


def test_six_trainees_without_variance() -> None:
    one = np.tile([1.0, 0.0, 1.0, 1.0, 0.0], (6, 1))[:, :, None]
    section = section_of(scores_of(one))
    for key in ("kr20", "kr21", "k2", "alpha", "huynh_agreement", "livingston_lewis_kappa"):
        assert "All trainees have the same total" in reason(section, key)
    phi = by_key(section)["phi"]
    assert isinstance(phi, Figure)
    assert phi.value == 0
    assert "By the scores" not in section.summary


@pytest.mark.parametrize("mark", [0.0, 1.0])
def test_all_marks_the_same(mark: float) -> None:
    section = section_of(scores_of(np.full((6, 5, 2), mark)))
    assert not [
        result for result in section.figures if result.key == "phi" and isinstance(result, Figure)
    ]
    assert "All scores are the same" in reason(section, "phi")
    assert "All scores are the same" in reason(section, "assessors_1_phi")
    assert section.summary.startswith("How dependable the decisions are cannot be told yet.")
    assert not section.drawings


def test_everyone_meets_the_cut() -> None:
    values = np.ones((10, 8, 1))
    values[:6, 0, 0] = values[0:3, 1, 0] = values[0:2, 2, 0] = 0.0
    section = section_of(scores_of(values, cut=0.5))
    agreement = by_key(section)["livingston_lewis_agreement"]
    assert isinstance(agreement, Figure)
    for key in ("huynh_kappa", "subkoviak_kappa", "peng_kappa", "livingston_lewis_kappa"):
        assert isinstance(by_key(section)[key], NotComputed)
    assert reason(section, "livingston_lewis_kappa").startswith("Everyone met the cut")


def test_nobody_meets_the_cut() -> None:
    values = np.zeros((8, 5, 1))
    values[:4, :3, 0] = 1.0
    section = section_of(scores_of(values, cut=0.9))
    assert reason(section, "huynh_kappa").startswith("Nobody met the cut")


def test_kr21_below_zero() -> None:
    # Totals 2 3 2 3 2 3 of 5: KR-21 is -5.
    values = np.zeros((6, 5, 1))
    for row in range(6):
        values[row, [(row + step) % 5 for step in range(2 + row % 2)], 0] = 1.0
    section = section_of(scores_of(values))
    assert "comes out at -5.00" in reason(section, "kr21")
    assert "zero or below" in reason(section, "huynh_agreement")
    # (-5 * 0.25 + (2.5 - 4)^2) / (0.25 + (2.5 - 4)^2): the cut lies far from all of them.
    about = by_key(section)["k2"]
    assert isinstance(about, Figure)
    assert about.value == pytest.approx(0.4)


def test_one_assessor() -> None:
    section = section_of(scores_of(marks(10, 6)))
    assert reason(section, "assessors_phi").startswith("Only one assessor scored.")


def test_assessors_who_share_no_two_trainees() -> None:
    values = marks(6, 5, 2)
    values[:3, :, 0] = np.nan
    values[3:, :, 1] = np.nan
    section = section_of(scores_of(values))
    assert reason(section, "assessors_phi").startswith("No two assessors scored the same")
    assert isinstance(by_key(section)["phi"], Figure)


def test_gaps_are_named() -> None:
    values = marks(8, 5, 2)
    values[1, 2, :] = np.nan
    values[3, :, :] = np.nan
    values[4, 0, 1] = np.nan
    applies = np.ones((8, 5))
    applies[1, 2] = 0
    section = section_of(scores_of(values, applies=applies))
    tables = {table.key: table.rows for table in section.tables}
    assert tables["left_out"] == (
        ("Trainee 2", "Trainee: Criterion 2 (does not apply)."),
        ("Trainee 4", "Trainee: not scored."),
    )
    assert tables["assessors_left_out"] == (
        ("Trainee 2", "Trainee: Criterion 2 (does not apply)."),
        ("Trainee 4", "Trainee: not scored by each of the assessors."),
        ("Trainee 5", "Trainee: Criterion 0 (not scored by each of the assessors)."),
    )
    phi = by_key(section)["phi"]
    assert isinstance(phi, Figure)
    assert phi.n == 6


def test_nothing_scored_and_a_single_trainee() -> None:
    nothing = section_of(scores_of(np.full((3, 4, 1), np.nan)))
    assert reason(nothing, "phi") == "Nothing has been scored yet."
    single = section_of(scores_of(marks(1, 4, 2)))
    assert "complete scores of 1 trainee on 4 criteria" in reason(single, "phi")
    none = section_of(scores_of(np.zeros((0, 3, 0))))
    assert reason(none, "phi") == "Nothing has been scored yet."


@pytest.mark.parametrize(("cut", "words"), [(None, "no overall cut"), (0.0, "overall cut is 0")])
def test_without_a_cut(cut: float | None, words: str) -> None:
    section = section_of(scores_of(marks(20, 6), cut=cut))
    for key in ("k2", "sem_cut", "consistency"):
        assert words in reason(section, key)
    assert isinstance(by_key(section)["phi"], Figure)
    assert "(Φ)" not in section.summary


def test_weights_and_levels_count() -> None:
    levels = (0.0, 0.5, 1.0)
    values = np.round(2 * (marks(20, 4, 2) + marks(20, 4, 2, seed=2)) / 2) / 2
    plain = tuple(item(number, levels=levels) for number in range(4))
    heavy = (item(0, weight=5.0, levels=levels), *plain[1:])
    first = by_key(section_of(scores_of(values, items=plain)))
    second = by_key(section_of(scores_of(values, items=heavy)))
    for key in ("alpha", "assessors_1_sem", "livingston_lewis_agreement"):
        assert first[key] != second[key], key
    assert first["kr20"] == second["kr20"]


def test_too_few_resamples_are_refused() -> None:
    with pytest.raises(EvidenceError, match="at least 100 resamples"):
        dependability_section(scores_of(marks(10, 5)), samples=10)
