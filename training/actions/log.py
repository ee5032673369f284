"""Writing the log, and proving that nobody changed it."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

import rfc8785
from django.db import connection, models, transaction
from django.utils import timezone

from training.digests import digest
from training.models import LogEntry, Person
from training.models.log import FIRST_PREVIOUS

CHAIN_LOCK = 0x42414E4B  # any number, the same in every process


@dataclass(frozen=True)
class BrokenRow:
    """The first row at which the chain does not hold, and why."""

    seq: int
    reason: str


def write_log(
    *, actor: Person | None, verb: str, subject: models.Model, data: dict[str, Any] | None = None
) -> LogEntry:
    """Append one row inside the caller's transaction and return it.

    Writers queue on a lock that is held until the transaction ends: call this last.
    ``data`` holds JSON values only, and no floats.
    """
    if not connection.in_atomic_block:
        raise transaction.TransactionManagementError("write_log belongs inside a transaction")
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_advisory_xact_lock(%s)", [CHAIN_LOCK])
    last = LogEntry.objects.order_by("-seq").only("seq", "digest").first()
    entry = LogEntry(
        seq=last.seq + 1 if last else 1,
        at=timezone.now(),
        actor=actor,
        verb=verb,
        subject_type=subject._meta.label_lower,
        subject_id=str(subject.pk),
        data=data or {},
        previous=last.digest if last else FIRST_PREVIOUS,
    )
    entry.digest = digest(_content(entry))
    entry.save(force_insert=True)
    return entry


def verify_log(entries: Iterator[LogEntry] | None = None) -> BrokenRow | None:
    """Return None when the whole chain holds, else its first broken row."""
    previous, expected = FIRST_PREVIOUS, 1
    rows = entries if entries is not None else LogEntry.objects.order_by("seq").iterator()
    for entry in rows:
        if entry.seq != expected:
            return BrokenRow(expected, f"row {expected} is missing; the next one is {entry.seq}")
        if entry.previous != previous:
            return BrokenRow(entry.seq, "it does not name the digest of the row before it")
        if entry.digest != _digest_now(entry):
            return BrokenRow(entry.seq, "its content is not what its digest was made of")
        previous, expected = entry.digest, expected + 1
    return None


def _digest_now(entry: LogEntry) -> str | None:
    """Return the digest of the row as it is; None for content that no writer could have made."""
    try:
        return digest(_content(entry))
    except rfc8785.CanonicalizationError:
        return None


def _content(entry: LogEntry) -> dict[str, Any]:
    at: datetime = entry.at.astimezone(UTC)
    return {
        "seq": entry.seq,
        "at": at.isoformat(timespec="microseconds"),
        "actor": entry.actor_id,
        "verb": entry.verb,
        "subject_type": entry.subject_type,
        "subject_id": entry.subject_id,
        "data": entry.data,
        "previous": entry.previous,
    }
