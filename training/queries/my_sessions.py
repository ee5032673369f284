"""What a person sees of the own sessions, and what a calendar program is told of them."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Count, F, OuterRef, Q, Subquery
from django.db.models.functions import Coalesce
from django.utils import timezone

from training.digests import secret_digest
from training.models import CourseRun, Enrolment, Person, PersonFeed, Session
from training.queries.calendar import sessions_of_person

KEPT = timedelta(days=366)  # how far back a calendar program is told of sessions


@dataclass(frozen=True)
class Waiting:
    """A run on whose waiting list a person is, and the place in the row, from 1."""

    run: CourseRun
    place: int


def own_sessions(person: Person, start: datetime) -> list[Session]:
    """Return the sessions that end after ``start``: published ones, and all that are taught."""
    found = sessions_of_person(person, start)
    return list(found.filter(Q(published=True) | Q(teaches=True)))


def own_waiting(person: Person) -> list[Waiting]:
    """Return where ``person`` waits for a place, the earliest run first (one query)."""
    before = (
        Enrolment.objects.filter(run=OuterRef("run"), state=Enrolment.State.WAITING)
        .filter(
            Q(enrolled_at__lt=OuterRef("enrolled_at"))
            | Q(enrolled_at=OuterRef("enrolled_at"), pk__lt=OuterRef("pk"))
        )
        .order_by()
        .values("run")
        .annotate(number=Count("pk"))
        .values("number")
    )
    rows = (
        Enrolment.objects.filter(person=person, state=Enrolment.State.WAITING)
        .select_related("run__program", "run__site")
        .annotate(place=Coalesce(Subquery(before), 0) + 1)
        .order_by(F("run__starts_on"), "pk")
    )
    return [Waiting(each.run, each.place) for each in rows]


def live_person_feed(token: str) -> PersonFeed | None:
    """Return the feed with this secret; None alike for one unknown or revoked, and for a person
    who cannot sign in any more."""
    return (
        PersonFeed.objects.filter(
            token_sha256=secret_digest(token),
            revoked_at__isnull=True,
            person__is_active=True,
        )
        .select_related("person")
        .first()
    )


def feed_sessions(person: Person) -> list[Session]:
    """Return the published sessions of ``person``, cancelled ones, too, so that they are taken out
    of a calendar; none that ended more than a year ago."""
    start = timezone.now() - KEPT
    return list(sessions_of_person(person, start, cancelled=True, published_only=True))
