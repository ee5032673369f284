"""The rules of a fair second look: when an attempt may be made again, when a review is due."""

from assessments.engine.second_look.again import Again, attempts_left, earliest_day, made_again
from assessments.engine.second_look.rules import (
    MOST_ATTEMPTS,
    MOST_DAYS,
    SCOPES,
    RetakeRule,
    ReviewRule,
    retake_rule,
    review_rule,
)

__all__ = [
    "MOST_ATTEMPTS",
    "MOST_DAYS",
    "SCOPES",
    "Again",
    "RetakeRule",
    "ReviewRule",
    "attempts_left",
    "earliest_day",
    "made_again",
    "retake_rule",
    "review_rule",
]
