"""The scores under a sealed standard as the analyses read them, and the reports on them."""

from assessments.queries.evidence.cohort import Cohort, cohort_of, scores_of
from assessments.queries.evidence.reports import Standing, standing_of
from assessments.queries.evidence.scope import reports_visible_to, studied_by

__all__ = [
    "Cohort",
    "Standing",
    "cohort_of",
    "reports_visible_to",
    "scores_of",
    "standing_of",
    "studied_by",
]
