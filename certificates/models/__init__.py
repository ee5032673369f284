"""Facts about what was issued, what became of it, and about wrong looks for it."""

from certificates.models.compromise import Doubt, KeyCompromise
from certificates.models.credentials import Credential
from certificates.models.guesses import WrongNumber
from certificates.models.jobs import IssueItem, IssueJob
from certificates.models.records import Record
from certificates.models.status import StatusChange, WithdrawalAnswer, WithdrawalProposal

__all__ = [
    "Credential",
    "Doubt",
    "IssueItem",
    "IssueJob",
    "KeyCompromise",
    "Record",
    "StatusChange",
    "WithdrawalAnswer",
    "WithdrawalProposal",
    "WrongNumber",
]
