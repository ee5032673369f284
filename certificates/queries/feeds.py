"""What a calendar program is told of a crew: last days of validity, and days to confirm by."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from django.db.models import Count, Max

from certificates.models import CalendarFeed, Record
from certificates.queries.crew import Asked, Row, register_rows
from training.digests import secret_digest
from training.models import Organisation, Person
from training.queries.scope import contractor_organisations

LAPSE = "lapse"
CONFIRMATION = "confirmation"


@dataclass(frozen=True)
class FeedState:
    """A contractor and the address that a manager has for its crew, if any."""

    organisation: Organisation
    feed: CalendarFeed | None


@dataclass(frozen=True)
class Event:
    """A day in the calendar: ``kind`` is LAPSE or CONFIRMATION.

    ``sequence`` rises whenever the day of the same record and kind may have moved, and
    ``changed_at`` is when it last did.
    """

    kind: str
    day: date
    record_id: UUID
    number: str
    holder: str
    program: str
    sequence: int
    changed_at: datetime


def feeds_of(manager: Person, employers: Sequence[Organisation]) -> list[FeedState]:
    """Return each contractor with the address in force, if there is one (one query)."""
    found = {
        feed.organisation_id: feed
        for feed in CalendarFeed.objects.filter(person=manager, revoked_at__isnull=True)
    }
    return [FeedState(each, found.get(each.pk)) for each in employers]


def live_feed(token: str) -> CalendarFeed | None:
    """Return the feed with this secret; None alike for one unknown, revoked, or of somebody who
    does not manage that crew any more."""
    feed = (
        CalendarFeed.objects.filter(
            token_sha256=secret_digest(token), revoked_at__isnull=True, person__is_active=True
        )
        .select_related("person", "organisation")
        .first()
    )
    if feed is None:
        return None
    managed = contractor_organisations(feed.person).filter(pk=feed.organisation_id)
    return feed if managed.exists() else None


def events_of(feed: CalendarFeed) -> list[Event]:
    """Return the days ahead and past of the records that count today, by day.

    Of each person and program it is the record that serves best. Four queries.
    """
    rows = [
        row
        for row in register_rows(feed.person, Asked(employer=feed.organisation_id))
        if row.counts and (row.valid_until or row.confirm_by)
    ]
    moved = _moved([row.record_id for row in rows if row.record_id])
    found = []
    for row in rows:
        issued_at, sequence, changed_at = moved[row.record_id]
        if row.valid_until:
            found.append(_event(LAPSE, row.valid_until, row, 0, issued_at))
        if row.confirm_by:
            found.append(_event(CONFIRMATION, row.confirm_by, row, sequence, changed_at))
    return sorted(found, key=lambda event: (event.day, event.holder, event.number, event.kind))


def _event(kind: str, day: date, row: Row, sequence: int, changed_at: datetime) -> Event:
    assert row.record_id is not None
    assert row.number is not None
    title = row.program_title or ""
    return Event(kind, day, row.record_id, row.number, row.holder, title, sequence, changed_at)


def _moved(records: list[UUID]) -> dict[UUID | None, tuple[datetime, int, datetime]]:
    """Return when each was issued, how often its chain was written to since, and when last."""
    rows = Record.objects.filter(pk__in=records).values_list(
        "pk",
        "issued_at",
        Count("decision__attempt__confirmations"),
        Count("decision__attempt__confirmations__retraction"),
        Max("decision__attempt__confirmations__signed_at"),
        Max("decision__attempt__confirmations__retraction__at"),
    )
    return {
        pk: (issued, given + taken, max(filter(None, (issued, signed, back))))
        for pk, issued, given, taken, signed, back in rows.order_by()
    }
