"""What each criterion tells about those who were scored on it, and what to do about it."""

from assessments.evidence.review.criteria import CriterionReview, review_criteria
from assessments.evidence.review.section import review_section

__all__ = ["CriterionReview", "review_criteria", "review_section"]
