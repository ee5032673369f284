"""Retakes that stand on the work of an attempt: while one is open, that attempt is not reviewed."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from django.utils import timezone

from assessments.models import Attempt
from assessments.queries.past import MadeAgain, retakes_of
from training.site_time import zone_of


@dataclass(frozen=True)
class Carrying:
    """A retake that carries work of an attempt on, itself or through one between.

    ``began`` and ``ended`` are days of the site; ``ended`` is None while it is open.
    """

    number: int
    began: date
    ended: date | None


def carrying(attempt: Attempt, retakes: Iterable[MadeAgain] | None = None) -> list[Carrying]:
    """Return the retakes that stand on ``attempt``, in order; with its run's site.

    ``retakes`` are those of the enrolment, read where they are not given (one query).
    """
    zone = zone_of(attempt.enrolment.run.site)
    standing, found = {attempt.pk}, []
    for made in retakes_of(attempt) if retakes is None else retakes:
        row = made.retake
        if not row.carried or row.of_id not in standing:
            continue
        standing.add(row.attempt_id)
        closed = row.attempt.state != Attempt.State.OPEN and made.decided
        ended = timezone.localdate(made.decided, zone) if closed else None
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
