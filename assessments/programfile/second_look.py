"""The rules of retake and review, as a program file writes them."""

from assessments.engine.second_look import MOST_ATTEMPTS, MOST_DAYS, SCOPES
from assessments.programfile.compound import Field, Record
from assessments.programfile.shapes import Choice, Whole

RETAKE = Record(
    {
        "after_days": Field(Whole(0, MOST_DAYS)),
        "most": Field(Whole(1, MOST_ATTEMPTS), required=False),
        "scope": Field(Choice(SCOPES)),
    },
    "the rule of retake",
)
REVIEW = Record(
    {
        "ask_within_days": Field(Whole(1, MOST_DAYS)),
        "answer_within_days": Field(Whole(1, MOST_DAYS)),
    },
    "the rule of review",
)
