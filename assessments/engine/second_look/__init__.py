"""The rules of a fair second look: when an attempt may be made again, when a review is due."""

from assessments.engine.second_look.rules import (
    RetakeRule,
    ReviewRule,
    retake_rule,
    review_rule,
)

__all__ = ["RetakeRule", "ReviewRule", "retake_rule", "review_rule"]
