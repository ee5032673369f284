"""Studies and decision studies: components below zero, sentences, tables, wrong input."""

from __future__ import annotations

import numpy as np
import pytest

from assessments.evidence.dependability import (
    Study,
    coefficients,
    decide,
    decision_sentence,
    decision_table,
    g_study,
)
from assessments.evidence.errors import EvidenceError
from assessments.evidence.results import Figure, NotComputed
from assessments.evidence.scores import Array
from tests.evidence.dependability.cohorts import marks

# Worked by hand. Trainees all have the mean 1/2; both criteria too: everything is interaction.
CROSSWISE = np.array([[1.0, 0.0], [0.0, 1.0], [1.0, 0.0], [0.0, 1.0]])


def study_of(values: Array, facets: tuple[str, ...] = ("criteria",)) -> Study:
    found = g_study(values, facets)
    assert isinstance(found, Study)
    return found


def test_components_below_zero_are_shown_and_taken_as_zero() -> None:
    study = study_of(CROSSWISE)
    # Interaction: 8 * 1/4 over 3 degrees of freedom; trainees (0 - 2/3) / 2, criteria / 4.
    assert [part.estimated for part in study.components] == pytest.approx([-1 / 3, -1 / 6, 2 / 3])
    assert [part.variance for part in study.components] == pytest.approx([0, 0, 2 / 3])
    assert study.negative == ("trainees", "criteria")
    assert study.notes == (
        "Estimated below zero, and taken as zero in what follows: trainees, criteria.",
    )
    row = study.table("components", "Components").rows[0]
    assert row[4:] == pytest.approx((-1 / 3, 0, 0))
    phi = next(one for one in coefficients(CROSSWISE) if one.key == "phi")
    assert isinstance(phi, Figure)
    assert phi.value == 0
    assert phi.notes[0].startswith("Estimated below zero")


def test_zero_stands_in_for_components_in_figures_too() -> None:
    error = next(one for one in coefficients(CROSSWISE) if one.key == "sem")
    assert isinstance(error, Figure)
    assert error.value == pytest.approx((2 / 3 / 2) ** 0.5)
    assert error.value == pytest.approx(decide(study_of(CROSSWISE), {"criteria": 2}).sem)


def test_about_a_cut_nearer_than_chance() -> None:
    # By hand: no variance of trainees, mean on the cut, chance of the mean 2/3 / 8 = 1/12, error
    # 1/3: (-1/12) / (1/3 - 1/12) = -1/3.
    assert decide(study_of(CROSSWISE), {"criteria": 2}, cut=0.5).phi_cut is None
    near = coefficients(CROSSWISE, cut=0.5)[-1]
    assert isinstance(near, NotComputed)
    assert "below zero" in near.reason


def test_about_a_cut_further_than_chance() -> None:
    # By hand: (0.16 - 1/12) / (0.16 - 1/12 + 1/3).
    expected = (0.16 - 1 / 12) / (0.16 - 1 / 12 + 1 / 3)
    found = decide(study_of(CROSSWISE), {"criteria": 2}, cut=0.9).phi_cut
    assert found == pytest.approx(expected)
    figure = coefficients(CROSSWISE, cut=0.9)[-1]
    assert isinstance(figure, Figure)
    assert figure.value == pytest.approx(expected)


def test_a_small_component_is_no_rounding() -> None:
    strict = np.array([0.0, 0.004])
    values = np.array([0.1, 0.4, 0.5, 0.9])[:, None] + strict
    found = {one.letters: one.estimated for one in study_of(values, ("assessors",)).components}
    assert found["r"] == pytest.approx(strict.var(ddof=1), rel=1e-9)
    assert found["pr,e"] == 0


def test_no_difference_at_all() -> None:
    found = g_study(np.full((6, 4), 0.7))
    assert isinstance(found, NotComputed)
    results = coefficients(np.full((6, 4), 0.7), cut=0.5)
    assert [result.key for result in results] == ["generalizability", "phi", "sem", "phi_cut"]
    for result in results:
        assert isinstance(result, NotComputed)
        assert result.reason == found.reason


def test_trainees_alike_but_criteria_not() -> None:
    """Nothing tells the trainees apart: no ranking, dependability 0, none about the mean."""
    values = np.tile([0.2, 0.9, 0.4], (5, 1))
    ranking, phi, error, at_cut = coefficients(values, cut=0.5)
    assert isinstance(ranking, NotComputed)
    assert isinstance(phi, Figure)
    assert phi.value == 0
    assert isinstance(error, Figure)
    assert error.value > 0
    assert isinstance(at_cut, NotComputed)
    assert "below zero" in at_cut.reason


def test_two_assessors_and_one_task() -> None:
    values = marks(8, 2, 3, seed=5) * 0.5 + marks(8, 1, 1, seed=6) * 0.5
    study = study_of(values, ("tasks", "assessors"))
    phi = decide(study, {"tasks": 1, "assessors": 2}).phi
    sentence = decision_sentence(study, {"assessors": 2, "tasks": 1})
    assert sentence == f"One task and two assessors would give a dependability of {phi:.2f} (Φ)."
    about = decide(study, {"tasks": 1, "assessors": 2}, cut=0.2).phi_cut
    assert decision_sentence(study, {"tasks": 1, "assessors": 2}, cut=0.2) == (
        f"One task and two assessors would give a dependability of {about:.2f} (Φ(λ) at the cut)."
    )
    many = decision_sentence(study, {"tasks": 12, "assessors": 1})
    assert many.startswith("12 tasks and one assessor would give")


def test_sentence_where_nothing_can_be_told() -> None:
    study = study_of(np.tile([0.2, 0.9, 0.4], (5, 1)))
    assert decision_sentence(study, {"criteria": 3}, cut=0.5) == (
        "What three criteria would give cannot be told: trainees do not differ beyond chance."
    )


def test_decision_table() -> None:
    study = study_of(marks(12, 6)[:, :, 0])
    table = decision_table(study, [{"criteria": 6}, {"criteria": 12}], cut=0.9)
    assert table.columns[0] == "Criteria"
    found = decide(study, {"criteria": 12}, cut=0.9)
    assert table.rows[1] == (
        12,
        found.sem,
        found.generalizability,
        found.phi,
        found.phi_cut,
    )
    # Twice as many criteria halve the error variance.
    assert decide(study, {"criteria": 6}).absolute == pytest.approx(2 * found.absolute)


def test_error_variances_written_out() -> None:
    study = study_of(marks(9, 3, 2), ("criteria", "assessors"))
    part = {one.letters: one.variance for one in study.components}
    found = decide(study, {"criteria": 4, "assessors": 2})
    relative = part["pi"] / 4 + part["pr"] / 2 + part["pir,e"] / 8
    assert found.relative == pytest.approx(relative)
    assert found.absolute == pytest.approx(
        relative + part["i"] / 4 + part["r"] / 2 + part["ir"] / 8
    )


@pytest.mark.parametrize(
    ("values", "facets", "path", "words"),
    [
        (np.ones(4), ("criteria",), "values", "trainees x one facet"),
        (np.ones((1, 4)), ("criteria",), "values", "two trainees"),
        (np.ones((4, 1)), ("assessors",), "values", "two of each facet"),
        (np.array([[0.1, np.nan], [0.2, 0.3]]), ("criteria",), "values", "gaps"),
        (np.eye(3), ("criteria", "assessors"), "facets", "Name 1 different"),
        (np.eye(3), ("days",), "facets", "Known facets are"),
        (np.ones((2, 2, 2)), ("tasks", "tasks"), "facets", "Name 2 different"),
    ],
)
def test_wrong_studies(values: Array, facets: tuple[str, ...], path: str, words: str) -> None:
    with pytest.raises(EvidenceError, match=words) as caught:
        g_study(values, facets)
    assert caught.value.path == path


@pytest.mark.parametrize(
    ("sizes", "cut", "path"),
    [
        ({"criteria": 0}, None, "sizes.criteria"),
        ({"assessors": 2}, None, "sizes"),
        ({}, None, "sizes"),
        ({"criteria": 5}, 1.2, "cut"),
        ({"criteria": 5}, -0.1, "cut"),
    ],
)
def test_wrong_designs(sizes: dict[str, int], cut: float | None, path: str) -> None:
    with pytest.raises(EvidenceError) as caught:
        decide(study_of(np.eye(4)), sizes, cut=cut)
    assert caught.value.path == path
    with pytest.raises(EvidenceError):
        coefficients(np.eye(4), sizes=sizes, cut=cut)
