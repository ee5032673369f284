"""The calendar of a run, and that of a person."""

from collections.abc import Iterable
from datetime import date, datetime, timedelta
from uuid import UUID

from django.db.models import CharField, Exists, OuterRef, Prefetch, Q, QuerySet
from django.db.models.functions import Cast
from django.utils import timezone

from training.models import (
    CourseRun,
    Enrolment,
    LogEntry,
    Person,
    Session,
    SessionInstructor,
    Site,
)
from training.queries.scope import provider_organisations, runs_visible_to
from training.site_time import run_days, zone_of

PUBLISHED = "calendar.published"  # verb of the log row, whose subject is the run


def sessions_of(run: CourseRun, *, cancelled: bool = False) -> QuerySet[Session]:
    """Return the sessions of ``run`` by their start, with module, place and ``teaching``.

    ``teaching`` is prefetched with its people. Cancelled ones are left out unless asked for.
    Two queries.
    """
    found = _whole(run.sessions.all())
    return found if cancelled else found.filter(state=Session.State.PLANNED)


def sessions_of_person(
    person: Person,
    start: datetime | None = None,
    end: datetime | None = None,
    *,
    cancelled: bool = False,
    published_only: bool = False,
) -> QuerySet[Session]:
    """Return the sessions that ``person`` is enrolled for or teaches, by their start.

    ``start`` and ``end`` are instants: a session is in when any of it lies between them. Each has
    its run, program and site, place, module, ``teaching`` with people, and ``teaches`` and
    ``published``. Whoever is on the waiting list or withdrew has no sessions. Two queries.
    """
    enrolled = Enrolment.objects.filter(
        person=person, run=OuterRef("run"), state=Enrolment.State.ENROLLED
    )
    taught = SessionInstructor.objects.filter(session=OuterRef("pk"), person=person)
    published = Exists(publications(OuterRef("run")))
    theirs = Session.objects.filter(Exists(enrolled) | Exists(taught))
    found = _whole(theirs.filter(published) if published_only else theirs).select_related(
        "run__program__provider", "run__site", "place", "module"
    )
    if start is not None:
        found = found.filter(ends_at__gt=start)
    if end is not None:
        found = found.filter(starts_at__lt=end)
    found = found if cancelled else found.filter(state=Session.State.PLANNED)
    return found.annotate(teaches=Exists(taught), published=published)


def sessions_visible_to(person: Person) -> QuerySet[Session]:
    """Return the sessions of the runs that ``person`` leads or teaches."""
    return Session.objects.filter(run__in=runs_visible_to(person).order_by().values("pk"))


def sites_visible_to(person: Person) -> QuerySet[Site]:
    """Return the sites of the providers that ``person`` leads, and those of the runs they teach."""
    seen = runs_visible_to(person).filter(site=OuterRef("pk")).order_by()
    return Site.objects.filter(Q(provider__in=provider_organisations(person)) | Exists(seen))


def publications(run: UUID | OuterRef) -> QuerySet[LogEntry]:
    """Return the log rows that say that the calendar of ``run`` was sent (its key)."""
    key = Cast(run, CharField()) if isinstance(run, OuterRef) else str(run)
    return LogEntry.objects.filter(
        subject_type="training.courserun", subject_id=key, verb=PUBLISHED
    ).order_by()


def is_published(run: CourseRun) -> bool:
    """Say whether the calendar of ``run`` was sent to those who take part (one query)."""
    return publications(run.pk).exists()


def coming_sessions(run: CourseRun) -> list[Session]:
    """Return the planned sessions of ``run`` that are not over yet (two queries)."""
    return list(sessions_of(run).filter(ends_at__gt=timezone.now()))


def participants(run: CourseRun) -> list[Person]:
    """Return who is enrolled on ``run``, by name; not the waiting list (one query)."""
    enrolled = run.enrolments.filter(state=Enrolment.State.ENROLLED)
    return list(Person.objects.filter(pk__in=enrolled.values("person")).order_by("full_name", "pk"))


def by_day(run: CourseRun, sessions: Iterable[Session]) -> list[tuple[date, list[Session]]]:
    """Return every day of ``run`` with its sessions; each is told on the day it starts on."""
    zone = zone_of(run.site)
    days: dict[date, list[Session]] = {day: [] for day in run_days(run)}
    for session in sessions:
        days.setdefault(session.starts_at.astimezone(zone).date(), []).append(session)
    return sorted(days.items())


def by_week(
    days: list[tuple[date, list[Session]]],
) -> list[list[tuple[date, list[Session] | None]]]:
    """Return whole weeks from Monday; a day that is not in ``days`` has None."""
    known = dict(days)
    mondays = sorted({day - timedelta(days=day.weekday()) for day in known})
    return [
        [(day, known.get(day)) for day in (monday + timedelta(days=each) for each in range(7))]
        for monday in mondays
    ]


def with_people(sessions: QuerySet[Session]) -> QuerySet[Session]:
    """Let ``teaching`` of each be read with its people in one more query."""
    people = SessionInstructor.objects.select_related("person").order_by("person__full_name")
    return sessions.prefetch_related(Prefetch("teaching", people))


def _whole(sessions: QuerySet[Session]) -> QuerySet[Session]:
    return with_people(sessions.select_related("module", "place")).order_by("starts_at", "id")
