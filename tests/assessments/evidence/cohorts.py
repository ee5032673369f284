"""Makers of decided attempts for the tests of evidence; all invented."""

from datetime import datetime, timedelta
from typing import Any

from assessments.actions.attempts import start_attempt
from assessments.actions.decisions import sign_off
from assessments.actions.observations import record_observation
from assessments.models import Attempt, Observation
from tests.assessments.builders import GOOD, Yard, event, make_yard, readings, score_all
from tests.factories import enrol, make_person, make_role
from training.models import Person, Role

BAD_GAP = readings(('1/2"', "1/2", "in"), ('1/2"', "1/2", "in"))
NONE_THERE = {"not_applicable": True, "reason": "no voids can be seen"}
START = datetime.fromisoformat("2026-11-03T10:00:00-05:00")


def second_instructor(yard: Yard) -> Person:
    """Return another instructor of the yard's run."""
    person = make_role(Role.Kind.INSTRUCTOR, yard.provider)
    yard.run.instructors.add(person)
    return person


def another(yard: Yard) -> Attempt:
    """Start an attempt of a new trainee on the yard's run."""
    return start_attempt(actor=yard.instructor, enrolment=enrol(yard.run, make_person()))


def decide(yard: Yard, attempt: Attempt) -> None:
    """Sign the attempt off, whatever it comes to."""
    sign_off(actor=yard.lead, attempt=attempt, password_checked=True, note="Closed.")


def put(
    attempt: Attempt, assessor: Person, key: str, value: dict[str, Any], **changes: Any
) -> Observation:
    """Record one observation."""
    return record_observation(actor=assessor, event=event(attempt, key, value, **changes))


def at(minute: float) -> str:
    """Return a device's time, so many minutes after the start."""
    return (START + timedelta(minutes=minute)).isoformat()


def cohort_yard(size: int = 8, **changes: Any) -> Yard:
    """Return a yard with ``size`` decided attempts, every one scored by two assessors.

    Their scores differ by a rule of no meaning, so that there is something to compare.
    """
    yard = make_yard(**changes)
    second = second_instructor(yard)
    for number in range(size):
        attempt = another(yard)
        for place, assessor in enumerate((yard.instructor, second)):
            score_all(
                attempt,
                assessor,
                C1={"level": (number + place * (number % 3 == 0)) % 3},
                C2=GOOD["C2"] if (number * 7 + place) % 5 else BAD_GAP,
                C3={"answer": number % 7 != 3},
                C4={"count": 0 if number % 4 else 2},
            )
        decide(yard, attempt)
    return yard
