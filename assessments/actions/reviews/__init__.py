"""Looking at a decision again: asking for it, giving it to somebody, scoring blind, answering."""

from assessments.actions.reviews.answering import answer_review
from assessments.actions.reviews.asking import ask_review, take_back_review
from assessments.actions.reviews.giving import give_review, step_down
from assessments.actions.reviews.scoring import finish_scoring, leave_rest, score_review

__all__ = [
    "answer_review",
    "ask_review",
    "finish_scoring",
    "give_review",
    "leave_rest",
    "score_review",
    "step_down",
    "take_back_review",
]
