"""Phi(lambda) where what tells trainees from the cut comes out below zero."""

from __future__ import annotations

import numpy as np

from assessments.evidence.dependability import coefficients, decide, g_study
from assessments.evidence.dependability.study import Study
from assessments.evidence.results import Figure, NotComputed

# Scores that cancel out: no variance of trainees, and the mean lies on the cut.
CANCEL = np.array([[[0.0, 0.0], [0.0, 0.25]], [[0.0, 0.0], [0.25, 0.0]]])
FACETS = ("criteria", "assessors")


def test_below_zero_is_not_a_number_above_one() -> None:
    study = g_study(CANCEL, FACETS)
    assert isinstance(study, Study)
    assert decide(study, {"criteria": 3, "assessors": 5}, cut=0.0).phi_cut is None
    found = coefficients(CANCEL, FACETS, cut=0.0, samples=100)[-1]
    assert isinstance(found, NotComputed)
    assert "comes out below zero" in found.reason


def test_resamples_below_zero_count_as_nought_in_the_interval() -> None:
    values = np.array([[1, 0, 0], [1, 1, 0], [1, 1, 1], [0, 0, 0], [1, 1, 1.0]])
    found = coefficients(values, cut=0.7, samples=400, seed=3)[-1]
    assert isinstance(found, Figure)
    assert found.low is not None
    assert found.high is not None
    assert 0 <= found.low <= found.high <= 1
