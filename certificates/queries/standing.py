"""How a record stands today, in one word that every page uses."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from django.db.models import QuerySet
from django.utils import timezone

from certificates.models import Record

SOON = timedelta(days=90)

CURRENT = "current"
LAPSES_SOON = "lapses_soon"
LAPSED = "lapsed"
REPLACED = "replaced"
WITHDRAWN = "withdrawn"


@dataclass(frozen=True)
class Standing:
    """``word`` is one of the constants above; the rest is what that word needs to be told."""

    word: str
    valid_until: date | None = None
    replaced_by: str | None = None
    decided_anew_at: datetime | None = None

    @property
    def counts(self) -> bool:
        """Whether the record holds today."""
        return self.word in (CURRENT, LAPSES_SOON)


def with_standing(records: QuerySet[Record]) -> QuerySet[Record]:
    """Join what ``standing_of`` looks at, so that it asks the database nothing more."""
    return records.select_related(
        "replaced_by", "decision__replaced_by", "decision__attempt__enrolment__run__site"
    ).defer(
        "document",
        "replaced_by__document",
        "decision__document",
        "decision__observations",
        "decision__replaced_by__document",
        "decision__replaced_by__observations",
    )


def standing_of(record: Record, today: date | None = None) -> Standing:
    """Return how ``record`` stands on ``today`` (if not given: today at the record's site).

    A record is replaced by a later one; it is withdrawn when the decision behind it was made
    anew and no record was issued for the new one; the last day of validity still counts.
    """
    successor = getattr(record, "replaced_by", None)
    if successor is not None:
        return Standing(REPLACED, record.valid_until, replaced_by=successor.number)
    anew = getattr(record.decision, "replaced_by", None)
    if anew is not None:
        return Standing(WITHDRAWN, record.valid_until, decided_anew_at=anew.decided_at)
    if record.valid_until is None:
        return Standing(CURRENT)
    if today is None:
        today = timezone.localdate(timezone=ZoneInfo(_zone(record)))
    if record.valid_until < today:
        return Standing(LAPSED, record.valid_until)
    soon = record.valid_until - today <= SOON
    return Standing(LAPSES_SOON if soon else CURRENT, record.valid_until)


def _zone(record: Record) -> str:
    return record.decision.attempt.enrolment.run.site.time_zone
