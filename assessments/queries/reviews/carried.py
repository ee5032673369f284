"""Retakes that stand on the work of an attempt: while one is open, that attempt is not reviewed."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Min
from django.utils import timezone

from assessments.models import Attempt, Retake
from training.site_time import zone_of


@dataclass(frozen=True)
class Carrying:
    """A retake that carries work of an attempt on, itself or through one between.

    ``began`` and ``ended`` are days of the site; ``ended`` is None while it is open.
    """

    number: int
    began: date
    ended: date | None


def carrying(attempt: Attempt) -> list[Carrying]:
    """Return the retakes that stand on ``attempt``, in order; with its run's site (one query)."""
    zone = zone_of(attempt.enrolment.run.site)
    rows = (
        Retake.objects.filter(attempt__enrolment=attempt.enrolment_id)
        .exclude(carried=[])
        .select_related("attempt")
        .annotate(decided=Min("attempt__decisions__decided_at"))
        .order_by("attempt__number")
    )
    standing, found = {attempt.pk}, []
    for row in rows:
        if row.of_id not in standing:
            continue
        standing.add(row.attempt_id)
        closed = row.attempt.state != Attempt.State.OPEN and row.decided
        ended = timezone.localdate(row.decided, zone) if closed else None
        found.append(Carrying(row.attempt.number, timezone.localdate(row.made_at, zone), ended))
    return found


def kept_open(until: date, retakes: Iterable[Carrying], today: date) -> date:
    """Return the last day to ask, when the days on which a retake was open are not counted.

    A retake that began after that day adds nothing. Days are whole: one begun on the 3rd and
    decided on the 5th moves the last day by two.
    """
    for each in retakes:
        if each.began <= until:
            until += max((each.ended or today) - each.began, timedelta())
    return until
