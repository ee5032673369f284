"""How the judgements of a panel become a recommended cut, before anybody is assessed under it."""

from assessments.evidence.judging.angoff import angoff
from assessments.evidence.judging.borderline import borderline_regression
from assessments.evidence.judging.contrasting import contrasting_groups
from assessments.evidence.judging.ebel import DIFFICULTY, RELEVANCE, ebel, ebel_counts
from assessments.evidence.judging.hofstee import hofstee
from assessments.evidence.judging.recommendation import Recommendation, when_to_use
from assessments.evidence.judging.spread import spread

__all__ = [
    "DIFFICULTY",
    "RELEVANCE",
    "Recommendation",
    "angoff",
    "borderline_regression",
    "contrasting_groups",
    "ebel",
    "ebel_counts",
    "hofstee",
    "spread",
    "when_to_use",
]
