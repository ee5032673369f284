"""Small makers of modules, sessions and rows of attendance; all names are invented."""

from datetime import UTC, datetime, timedelta
from typing import Any

from training.models import Attendance, CourseRun, Module, Person, Program, Session

HOUR = timedelta(hours=1)
MINUTE = timedelta(minutes=1)
EIGHT = datetime(2026, 11, 3, 13, tzinfo=UTC)  # 08:00 in New York, where these runs are held


def make_module(program: Program, minutes: int = 120, **fields: Any) -> Module:
    """Return a saved module."""
    number = program.modules.count() + 1
    values = {"key": f"M{number}", "position": number, "title": f"Joints {number}"}
    return Module.objects.create(
        program=program, minutes=minutes, **{**values, "kind": "lecture", **fields}
    )


def make_session(run: CourseRun, **fields: Any) -> Session:
    """Return a saved session of two hours from EIGHT."""
    values = {"title": "Cutting back", "starts_at": EIGHT, "ends_at": EIGHT + 2 * HOUR}
    return Session.objects.create(run=run, **{**values, **fields})


def note(
    session: Session, person: Person, kind: str, at: datetime, by: Person, **fields: Any
) -> Attendance:
    """Return a saved row of attendance, as if entered at the desk."""
    return Attendance.objects.create(
        session=session, person=person, kind=kind, at=at, by=by, **{"how": "desk", **fields}
    )
