"""Makers of reference pieces and sittings; all invented."""

from collections.abc import Iterable
from datetime import date, datetime, time
from typing import Any
from zoneinfo import ZoneInfo

from django.utils import timezone

from assessments.actions.calibration import (
    add_reference_piece,
    finish_sitting,
    score_reference,
    set_requirement,
    start_sitting,
)
from assessments.models import (
    AssessorRequirement,
    Authorisation,
    CalibrationSitting,
    ReferencePiece,
)
from tests.assessments.builders import Yard, readings
from tests.triggers import lifted
from training.models import Person

AGREED: dict[str, dict[str, Any]] = {
    "C1": {"level": 1},
    "C2": readings(('1/8"', "1/8", "in"), ("1/8 in", "1/8", "in")),
    "C3": {"answer": True},
    "C4": {"count": 0},
    "C5": {"start": "2026-11-03T09:00:00-05:00", "end": "2026-11-03T09:20:00-05:00"},
}
# 1/16 in is the lower limit: inside it, but by less than the guard band.
WITHIN = readings(('1/16"', "1/16", "in"), ('1/8"', "1/8", "in"))
TOO_WIDE = readings(('1/4"', "1/4", "in"), ('1/8"', "1/8", "in"))


def make_piece(yard: Yard, title: str = "Sill stone A", **changes: Any) -> ReferencePiece:
    """Return a piece with AGREED; a change replaces a value, None leaves it out."""
    values = {**AGREED, **changes}
    return add_reference_piece(
        actor=yard.lead,
        standard=yard.standard,
        title=title,
        description="On the bench by the door.",
        agreed={key: value for key, value in values.items() if value is not None},
        agreed_by="Three instructors, 2 Nov 2026",
    )


def score(sitting: CalibrationSitting, **changes: Any) -> None:
    """Score every criterion of the piece as agreed, but for the changes."""
    for key, value in {**sitting.piece.agreed, **changes}.items():
        score_reference(actor=sitting.assessor, sitting=sitting, criterion=key, value=value)


def sit(person: Person, piece: ReferencePiece, **changes: Any) -> CalibrationSitting:
    """Return a finished sitting of ``person``, scored as agreed but for the changes."""
    sitting = start_sitting(actor=person, piece=piece)
    score(sitting, **changes)
    return finish_sitting(actor=person, sitting=sitting)


def finished_on(sitting: CalibrationSitting, day: date) -> None:
    """Let the sitting have been finished on ``day``, at noon."""
    noon = datetime.combine(day, time(12), timezone.get_current_timezone())
    with lifted("assessments_calibrationsitting"):
        CalibrationSitting.objects.filter(pk=sitting.pk).update(finished_at=noon)


def ask(yard: Yard, **changes: Any) -> AssessorRequirement:
    """Ask for one piece within 12 months, 0.8 exactly as agreed, a bias of 0.1 at most."""
    asked = {"pieces": 1, "months": 12, "exact": "0.8", "bias": "0.1", **changes}
    return set_requirement(actor=yard.lead, program=yard.program, **asked)


def authorised(yard: Yard, person: Person, until: date) -> Authorisation:
    """Return an authority of ``person`` that ends on ``until``, whatever was reached."""
    return Authorisation.objects.create(
        program=yard.program, assessor=person, granted=True, until=until, by=yard.standard.sealed_by
    )


def at_site(day: date, hour: int, zone: str) -> datetime:
    """Return an hour of ``day`` on the clock of a time zone."""
    return datetime.combine(day, time(hour), ZoneInfo(zone))


def titles(rows: Iterable[Any]) -> list[str]:
    """Return the titles of to-dos."""
    return [row.title for row in rows]
