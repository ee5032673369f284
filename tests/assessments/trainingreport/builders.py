"""A run with photographs, sessions, consents and decisions for the tests; all invented."""

from datetime import UTC, datetime, timedelta
from typing import Any

from django.core.files.base import ContentFile

from assessments.actions.attempts import start_attempt
from assessments.actions.decisions import sign_off
from assessments.actions.reports import save_stage
from assessments.models import Decision
from assessments.queries.trainingreport import report_document, report_of
from assessments.trainingreport.choices import Picture
from tests.assessments.builders import Yard, make_yard, score_all
from tests.assessments.site.pictures import jpeg, sha256
from tests.factories import enrol, make_person
from training.models import (
    Attendance,
    Consent,
    LogNote,
    LogPhoto,
    Module,
    Person,
    Session,
    SessionInstructor,
)

BEGAN = datetime(2026, 11, 3, 13, 0, tzinfo=UTC)


def agree(yard: Yard, person: Person, kind: str, *, given: bool = True) -> None:
    """Note what a person said about a use of name or picture."""
    Consent.objects.create(
        person=person, provider=yard.provider, kind=kind, given=given, words="Words.", by=person
    )


def photograph(yard: Yard, stage: str = "set", **changes: Any) -> LogPhoto:
    """Return a photograph of the site log, noted now at ``stage``."""
    note = LogNote.objects.create(
        run=yard.run, stage_key=stage, grid="C4", text="Seen.", at=BEGAN, by=yard.instructor
    )
    data = changes.pop("data", None) or jpeg(64, 48)
    fields: dict[str, Any] = {
        "position": 1,
        "caption": "Joint raked out",
        "sha256": sha256(data),
        "size": len(data),
        "width": 64,
        "height": 48,
        **changes,
    }
    photo = LogPhoto(note=note, **fields)
    photo.file.save(f"{photo.pk}.jpg", ContentFile(data), save=False)
    photo.save(force_insert=True)
    return photo


def taught(yard: Yard, trainee: Person, *, minutes: int = 90) -> Session:
    """Return a session of a module of 120 minutes at which ``trainee`` stayed for ``minutes``."""
    module = Module.objects.create(
        program=yard.program, position=1, key="M1", title="Raking out", kind="lecture", minutes=120
    )
    session = Session.objects.create(
        run=yard.run,
        module=module,
        title="Raking out by hand",
        starts_at=BEGAN,
        ends_at=BEGAN + timedelta(hours=2),
    )
    SessionInstructor.objects.create(session=session, person=yard.instructor)
    for kind, at in (("came", BEGAN), ("left", BEGAN + timedelta(minutes=minutes))):
        Attendance.objects.create(
            session=session,
            person=trainee,
            kind=kind,
            how="desk",
            at=at,
            received_at=at,
            by=yard.instructor,
        )
    return session


def decided(yard: Yard, *, note: str = "", **changes: dict[str, object] | None) -> Decision:
    """Return the signed decision on a new trainee's attempt; ``changes`` as ``score_all``."""
    enrolment = enrol(yard.run, make_person())
    attempt = start_attempt(actor=yard.instructor, enrolment=enrolment)
    score_all(attempt, yard.instructor, **changes)
    return sign_off(actor=yard.instructor, attempt=attempt, password_checked=True, note=note)


def part(yard: Yard, key: str) -> dict[str, Any]:
    """Return the facts of a part of the report as it stands now."""
    for row in report_document(yard.run)["parts"]:
        if row["key"] == key:
            facts: dict[str, Any] = row["facts"]
            return facts
    raise LookupError(key)


def choose(yard: Yard, stage: str, *pictures: Picture, text: str = "") -> None:
    """Save the photographs of a stage over whatever is saved now."""
    report = report_of(yard.run)
    save_stage(
        actor=yard.instructor,
        run=yard.run,
        version=report.version if report else 0,
        stage=stage,
        text=text,
        pictures=pictures,
    )


def shown(yard: Yard) -> list[tuple[str, str]]:
    """Return (id, caption) of each photograph that the report shows, in order."""
    return [
        (each["id"], each["caption"])
        for stage in part(yard, "procedure")["stages"]
        for each in stage["pictures"]
    ]


__all__ = ["agree", "choose", "decided", "make_yard", "part", "photograph", "shown", "taught"]
