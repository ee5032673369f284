"""The whole evidence on a passing standard in one document, "bankermark/evidence/1"."""

from __future__ import annotations

import platform
from typing import Any

import numpy as np
import scipy
import statsmodels

from assessments.evidence.agreement import agreement_section
from assessments.evidence.dependability import dependability_section
from assessments.evidence.errors import EvidenceError
from assessments.evidence.results import section_document
from assessments.evidence.review import review_section
from assessments.evidence.scores import Scores

SCHEMA = "bankermark/evidence/1"
LEAST_SAMPLES, MOST_SAMPLES = 100, 20_000


def evidence_document(scores: Scores, *, samples: int = 1000, seed: int = 1) -> dict[str, Any]:
    """Agreement, dependability and the review of the criteria, as plain data without floats.

    The same scores, ``samples`` and ``seed`` give the same document under the same versions of
    the libraries, which it names in ``made_with``. EvidenceError for samples or a seed out of
    range; what the scores do not allow stands in the document as not computed, with the reason.
    """
    if not LEAST_SAMPLES <= samples <= MOST_SAMPLES:
        raise EvidenceError(
            "samples", f"Draw from {LEAST_SAMPLES} to {MOST_SAMPLES} samples; 1000 is usual."
        )
    if seed < 0:
        raise EvidenceError("seed", "A whole number from 0 on is needed.")
    sections = (
        agreement_section(scores, samples=samples, seed=seed),
        dependability_section(scores, samples=samples, seed=seed),
        review_section(scores),
    )
    twice = (~np.isnan(scores.values)).sum(axis=2) > 1
    return {
        "schema": SCHEMA,
        "samples": samples,
        "seed": seed,
        "made_with": {
            "python": platform.python_version(),
            "numpy": np.__version__,
            "scipy": scipy.__version__,
            "statsmodels": statsmodels.__version__,
        },
        "cohort": {
            "trainees": len(scores.trainees),
            "criteria": len(scores.items),
            "assessors": len(scores.assessors),
            "double_scored": int(twice.any(axis=1).sum()),
        },
        "sections": [section_document(section) for section in sections],
    }
