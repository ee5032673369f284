"""Makers of runs with decisions, presence and answers for the tests of evaluation; invented."""

from datetime import UTC, datetime, timedelta

from django.utils import timezone

from assessments.actions.attempts import start_attempt
from assessments.models import Attempt
from tests.assessments.builders import Yard, score_all
from tests.assessments.evidence.cohorts import decide
from tests.factories import enrol, make_person, make_run
from training.actions.reactions import give_reaction
from training.models import Attendance, CourseRun, Enrolment, Module, Session
from training.reaction_form import STATEMENTS

MORNING = datetime(2026, 11, 3, 13, 0, tzinfo=UTC)


def another_run(yard: Yard) -> CourseRun:
    """Return a further run of the yard's program that ended yesterday."""
    today = timezone.localdate()
    return make_run(
        yard.program,
        instructors=(yard.instructor,),
        starts_on=today - timedelta(days=5),
        ends_on=today - timedelta(days=1),
    )


def decided_on(yard: Yard, run: CourseRun, **changes: dict[str, object] | None) -> Attempt:
    """Return a decided attempt of a new trainee on ``run``."""
    attempt = start_attempt(actor=yard.instructor, enrolment=enrol(run, make_person()))
    score_all(attempt, yard.instructor, **changes)
    decide(yard, attempt)
    return attempt


def practice_session(yard: Yard, run: CourseRun, minutes: int = 240) -> Session:
    """Return a session of supervised practice on ``run``."""
    module, _ = Module.objects.get_or_create(
        program=yard.program,
        key="M1",
        defaults={
            "position": 1,
            "title": "At the wall",
            "kind": Module.Kind.PRACTICE,
            "minutes": minutes,
        },
    )
    return Session.objects.create(
        run=run,
        module=module,
        title="At the wall",
        starts_at=MORNING,
        ends_at=MORNING + timedelta(minutes=minutes),
    )


def present(yard: Yard, session: Session, enrolment: Enrolment, minutes: int) -> None:
    """Note that the trainee came at the start and left after ``minutes``."""
    times = ((Attendance.Kind.CAME, 0), (Attendance.Kind.LEFT, minutes))
    for kind, after in times:
        Attendance.objects.create(
            session=session,
            person=enrolment.person,
            kind=kind,
            how=Attendance.How.DESK,
            at=session.starts_at + timedelta(minutes=after),
            by=yard.instructor,
        )


def answered(enrolment: Enrolment, rating: int) -> None:
    """Answer every statement with ``rating``."""
    give_reaction(
        actor=enrolment.person,
        enrolment=enrolment,
        ratings={each.key: rating for each in STATEMENTS},
        texts={},
    )
