"""What the pages about presence show: one session, a device's roster, and what waits."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Prefetch
from django.utils import timezone

from training.models import (
    Attendance,
    CourseRun,
    Enrolment,
    LogEntry,
    Person,
    Session,
)
from training.queries.calendar import sessions_visible_to
from training.queries.hours import presence
from training.queries.stays import Presence
from training.site_time import zone_of

KEPT = "attendance.refused"  # verb of the log row that keeps what was refused of a device
BEFORE, AFTER = timedelta(hours=36), timedelta(days=8)  # what a device takes along


@dataclass(frozen=True)
class Totals:
    """How many of a session came (of these: late, left early), were not there, are not noted."""

    came: int
    late: int
    left_early: int
    absent: int
    not_noted: int
    doubtful: int


@dataclass(frozen=True)
class SessionPage:
    """One session with everybody's presence, what was corrected, and what devices sent in vain."""

    session: Session
    zone: ZoneInfo
    rows: Sequence[Presence]
    totals: Totals
    corrected: Sequence[Attendance]
    refused: Sequence[LogEntry]


def session_page(session: Session, *, now: datetime | None = None) -> SessionPage:
    """Return what the page of ``session`` shows (four queries, with its run and site loaded)."""
    rows = presence(session, now=now)
    corrected = (
        session.attendance.filter(replaced_by__isnull=False)
        .select_related("person", "by", "replaced_by__by")
        .order_by("person__full_name", "at")
    )
    kept = LogEntry.objects.filter(
        verb=KEPT, subject_type=Session._meta.label_lower, subject_id=str(session.pk)
    )
    return SessionPage(
        session=session,
        zone=zone_of(session.run.site),
        rows=rows,
        totals=totals_of(rows),
        corrected=list(corrected),
        refused=list(kept.select_related("actor").order_by("seq")),
    )


def totals_of(rows: Iterable[Presence]) -> Totals:
    """Return how many came, were late, left early, were not there and are not noted."""
    rows = list(rows)
    return Totals(
        came=sum(row.came_at is not None for row in rows),
        late=sum(row.late > 0 for row in rows),
        left_early=sum(row.left_early > 0 for row in rows),
        absent=sum(row.absent for row in rows),
        not_noted=sum(not row.noted for row in rows),
        doubtful=sum(row.doubt != "" for row in rows),
    )


def roster(person: Person, *, now: datetime | None = None) -> dict[str, Any]:
    """Return what a device takes along, as JSON: sessions near ``now``, their people, and what
    is noted of them so far (three queries)."""
    now = now or timezone.now()
    placed = Enrolment.objects.filter(state=Enrolment.State.ENROLLED).select_related("person")
    standing = Attendance.objects.filter(replaced_by__isnull=True).order_by("at", "received_at")
    sessions = (
        sessions_visible_to(person)
        .filter(
            state=Session.State.PLANNED,
            ends_at__gt=now - BEFORE,
            starts_at__lt=now + AFTER,
        )
        .exclude(run__state=CourseRun.State.CLOSED)
        .select_related("run__site", "run__program", "place")
        .prefetch_related(
            Prefetch("run__enrolments", placed, to_attr="placed"),
            Prefetch("attendance", standing, to_attr="standing"),
        )
        .order_by("starts_at", "pk")
    )
    return {
        "person": {"id": str(person.pk), "name": person.full_name},
        "now": now.isoformat(),
        "sessions": [_document(each) for each in sessions],
    }


def _document(session: Session) -> dict[str, Any]:
    placed: list[Enrolment] = session.run.placed  # type: ignore[attr-defined]
    standing: list[Attendance] = session.standing  # type: ignore[attr-defined]
    return {
        "id": str(session.pk),
        "title": session.title,
        "program": session.run.program.title,
        "site": session.run.site.name,
        "place": session.place.name if session.place else "",
        "zone": session.run.site.time_zone,
        "starts_at": session.starts_at.isoformat(),
        "ends_at": session.ends_at.isoformat(),
        "people": [{"id": str(each.person_id), "name": each.person.full_name} for each in placed],
        "noted": [
            {
                "id": str(row.pk),
                "person": str(row.person_id),
                "kind": row.kind,
                "at": row.at.isoformat(),
            }
            for row in standing
        ],
    }
