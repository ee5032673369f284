"""Facts about what was issued, what became of it, who looks for it, and the crew that holds it."""

from certificates.models.compromise import Doubt, KeyCompromise
from certificates.models.continuity import Confirmation, Retraction
from certificates.models.credentials import Credential
from certificates.models.days import DayPlace
from certificates.models.guesses import WrongNumber
from certificates.models.jobs import IssueItem, IssueJob
from certificates.models.own import OwnLink, RecordLook
from certificates.models.projects import Post, Project
from certificates.models.records import Record
from certificates.models.reminders import CalendarFeed, Reminder
from certificates.models.status import StatusChange, WithdrawalAnswer, WithdrawalProposal
from certificates.models.submittals import LinkOpening, ShareLink, Submittal, SubmittedRecord

__all__ = [
    "CalendarFeed",
    "Confirmation",
    "Credential",
    "DayPlace",
    "Doubt",
    "IssueItem",
    "IssueJob",
    "KeyCompromise",
    "LinkOpening",
    "OwnLink",
    "Post",
    "Project",
    "Record",
    "RecordLook",
    "Reminder",
    "Retraction",
    "ShareLink",
    "StatusChange",
    "Submittal",
    "SubmittedRecord",
    "WithdrawalAnswer",
    "WithdrawalProposal",
    "WrongNumber",
]
