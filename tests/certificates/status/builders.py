"""Makers of changes of status that go past the actions, for tests of what stands below them."""

from datetime import datetime, timedelta

from django.utils import timezone

from certificates.models import (
    Doubt,
    KeyCompromise,
    Record,
    StatusChange,
    WithdrawalAnswer,
    WithdrawalProposal,
)
from training.models import Person

REASON = "The name was never checked."


def later(days: int = 0, **more: int) -> datetime:
    """Return an instant after now, so that a change is not dated back."""
    return timezone.now() + timedelta(days=days, **more)


def change(record: Record, word: str, by: Person, **fields: object) -> StatusChange:
    """Return the next change of ``record``, saved."""
    number = record.status_changes.count() + 1
    values = {"record": record, "number": number, "change": word, "reason": REASON, "by": by}
    return StatusChange.objects.create(**{**values, **fields})


def propose(record: Record, by: Person, **fields: object) -> WithdrawalProposal:
    """Return a proposal to withdraw ``record``, saved."""
    return WithdrawalProposal.objects.create(
        **{"record": record, "reason": REASON, "by": by, **fields}
    )


def answer(proposal: WithdrawalProposal, by: Person, **fields: object) -> WithdrawalAnswer:
    """Return a confirming answer, saved."""
    return WithdrawalAnswer.objects.create(
        **{"proposal": proposal, "confirmed": True, "by": by, **fields}
    )


def withdraw(record: Record, by: Person, second: Person, **fields: object) -> StatusChange:
    """Return the withdrawal of ``record`` by two, saved with its proposal and answer."""
    proposal = propose(record, by)
    answer(proposal, second)
    return change(record, "withdrawn", by, second=second, proposal=proposal, **fields)


def compromise(record: Record, by: Person, **fields: object) -> KeyCompromise:
    """Return the declaration that the key of ``record`` is not safe, and its doubt, saved."""
    now = timezone.now()
    values = {
        "provider": record.provider,
        "certificate_sha256": record.certificate_sha256,
        "doubtful_from": now - timedelta(days=30),
        "reason": "The backup disk was stolen.",
        "by": by,
        "at": now,
    }
    made = KeyCompromise.objects.create(**{**values, **fields})
    Doubt.objects.create(compromise=made, record=record)
    return made
