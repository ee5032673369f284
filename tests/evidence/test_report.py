"""The whole document: plain, complete, and the same again."""

from __future__ import annotations

import re
from typing import Any

import numpy as np
import pytest

from assessments.engine.canonical import digest
from assessments.evidence.errors import EvidenceError
from assessments.evidence.report import evidence_document
from tests.evidence.review.builders import cohort, item, scores


def test_a_cohort_in_full() -> None:
    document = evidence_document(cohort(), samples=200, seed=7)
    assert document["schema"] == "bankermark/evidence/1"
    assert (document["samples"], document["seed"]) == (200, 7)
    assert set(document["made_with"]) == {"python", "numpy", "scipy", "statsmodels"}
    assert document["cohort"] == {
        "trainees": 40,
        "criteria": 14,
        "assessors": 2,
        "double_scored": 40,
    }
    assert [section["key"] for section in document["sections"]] == [
        "agreement",
        "dependability",
        "review",
    ]
    assert all(section["summary"] for section in document["sections"])
    # RFC 8785 of plain data: the digest refuses floats and anything else that is not plain.
    assert digest(document) == digest(evidence_document(cohort(), samples=200, seed=7))


def test_the_seed_draws_other_samples() -> None:
    one, other = (evidence_document(cohort(), samples=200, seed=seed) for seed in (1, 2))
    del one["seed"], other["seed"]
    assert digest(one) != digest(other)


def test_drawings_of_all_sections_can_stand_on_one_page() -> None:
    document = evidence_document(cohort(), samples=100)
    drawings = [drawing for section in document["sections"] for drawing in section["drawings"]]
    keys = [drawing["key"] for drawing in drawings]
    assert len(keys) == len(set(keys)) > 2
    ids = [name for drawing in drawings for name in re.findall(r' id="([^"]+)"', drawing["svg"])]
    assert len(ids) == len(set(ids))
    assert all(drawing["alternative"] for drawing in drawings)


GAP = float("nan")
FLAWED: dict[str, Any] = {
    "nobody": scores(np.zeros((0, 3, 2)), cut=0.7),
    "no criteria": scores(np.zeros((3, 0, 1))),
    "no assessors": scores(np.zeros((3, 2, 0))),
    "one trainee": scores([[[1.0, 0.0], [0.0, 0.0]]], cut=0.7),
    "two trainees": scores([[[1.0, 0.0], [0.0, 0.0]], [[1.0, 1.0], [0.0, 1.0]]], cut=0.7),
    "one assessor": scores([[1, 0], [0, 1], [1, 1]], cut=0.5),
    "one criterion": scores([[1], [0], [1]], cut=0.5),
    "all alike": scores(np.ones((6, 3, 2)), cut=0.7),
    "all nought": scores(np.zeros((6, 3, 2)), cut=0.7, results=("not_yet_met",) * 6),
    "nothing scored": scores(np.full((6, 3, 2), GAP), cut=0.7, results=("incomplete",) * 6),
    "nothing applies": scores(np.ones((6, 3, 2)), applies=np.zeros((6, 3), dtype=bool)),
    "cut of nought": scores(np.random.default_rng(1).random((8, 4, 2)), cut=0.0),
    "cut of all": scores(np.random.default_rng(1).random((8, 4, 2)), cut=1.0),
    "never both": scores([[[1, GAP]], [[GAP, 0.5]], [[0.0, GAP]], [[GAP, 1]]], cut=0.5),
    "three assessors": scores(np.random.default_rng(1).random((8, 4, 3)), cut=0.6),
    "weightless": scores(np.ones((6, 2, 1)), items=(item("C0", weight=0.0), item("C1"))),
}


@pytest.mark.parametrize("name", FLAWED)
def test_scores_that_allow_little_still_give_a_document(name: str) -> None:
    document = evidence_document(FLAWED[name], samples=100)
    assert len(document["sections"]) == 3
    for section in document["sections"]:
        assert section["summary"]
        for figure in section["figures"]:
            assert figure.get("value") or len(figure["not_computed"]) > 10
    digest(document)


@pytest.mark.parametrize("samples", [-1, 0, 99, 20_001])
def test_samples_out_of_range_are_refused(samples: int) -> None:
    with pytest.raises(EvidenceError, match="samples: Draw from 100 to 20000"):
        evidence_document(cohort(8, 3), samples=samples)


def test_a_seed_below_nought_is_refused() -> None:
    with pytest.raises(EvidenceError, match="seed"):
        evidence_document(cohort(8, 3), seed=-1)
