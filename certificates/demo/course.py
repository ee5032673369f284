"""The scenario's course: its calendar, who was there, the site log, consents and a question."""

from collections.abc import Mapping
from datetime import datetime, time, timedelta
from decimal import Decimal
from io import BytesIO
from typing import Any

from django.core.files.base import ContentFile, File
from django.utils import timezone

from certificates.demo.pictures import picture
from training.actions.attendance import note_presence
from training.actions.consents import note_consent
from training.actions.places import Spot, add_place
from training.actions.publishing import publish_calendar
from training.actions.questions import answer_question, ask_question
from training.actions.sessions import Plan, add_sessions
from training.actions.sitelog.curing import begin_curing
from training.actions.sitelog.mortar import mix_batch
from training.actions.sitelog.notes import NoteFacts, write_note
from training.actions.sitelog.photographs import NewPhoto
from training.models import CourseRun, Person, Session
from training.photographs import read_photograph
from training.site_time import instant, zone_of


def tell_course(
    told: Mapping[str, Any], *, lead: Person, run: CourseRun, people: Mapping[str, Person]
) -> None:
    """Plan and publish the calendar of ``run``, and tell what happened until now."""
    places = {
        key: add_place(actor=lead, site=run.site, spot=Spot(**spot))
        for key, spot in told["places"].items()
    }
    modules = {module.key: module for module in run.program.modules.all()}
    plans = [
        Plan(
            title=modules[entry["module"]].title,
            module=modules[entry["module"]],
            place=places[entry["place"]],
            instructors=tuple(people[key] for key in entry["instructors"]),
            starts_at=_moment(run, entry["day"], entry["from"]),
            ends_at=_moment(run, entry["day"], entry["to"]),
        )
        for entry in told["sessions"]
    ]
    sessions = add_sessions(actor=lead, run=run, plans=plans)
    publish_calendar(actor=lead, run=run)
    _consents(told["consents"], run, people)
    _attend(told["late"], run, sessions, people)
    for entry in told["log"]:
        _write(entry, run, people[entry["by"]])
    _mix(told["mortar"], run, people)
    asked = told["question"]
    question = ask_question(actor=people[asked["by"]], run=run, text=asked["text"])
    answer_question(actor=people[asked["answered_by"]], question=question, answer=asked["answer"])


def _moment(run: CourseRun, day: int, at: str) -> datetime:
    """The hour ``at`` on the day counted from the run's first, as the site's clocks show it."""
    on = run.starts_on + timedelta(days=day)
    return instant(on, time.fromisoformat(at), zone_of(run.site), field="starts_at")


def _consents(told: Mapping[str, Any], run: CourseRun, people: Mapping[str, Person]) -> None:
    teacher = run.instructors.first()
    assert teacher is not None
    for key, kinds in told.items():
        enrolment = run.enrolments.get(person=people[key])
        for kind, given in kinds.items():
            note_consent(
                actor=teacher,
                enrolment=enrolment,
                kind=kind,
                given=given,
                how="paper",
            )


def _attend(
    late: Mapping[str, int], run: CourseRun, sessions: list[Session], people: Mapping[str, Person]
) -> None:
    """Let everybody enrolled come to the sessions that are over, some late, and go at the end."""
    minutes = {people[key].pk: number for key, number in late.items()}
    over = [each for each in sessions if each.ends_at <= timezone.now()]
    for session in over:
        teacher = session.teaching.first()
        assert teacher is not None
        for enrolment in run.enrolments.filter(state="enrolled").select_related("person"):
            came = session.starts_at + timedelta(minutes=minutes.get(enrolment.person_id, 0))
            for kind, at in (("came", came), ("left", session.ends_at)):
                note_presence(
                    actor=teacher.person,
                    session=session,
                    person=enrolment.person,
                    kind=kind,
                    at=at,
                )


def _write(entry: Mapping[str, Any], run: CourseRun, by: Person) -> None:
    photographs = [
        NewPhoto(photograph=read_photograph(_file(drawn["drawn"])), caption=drawn["caption"])
        for drawn in entry.get("photographs", [])
    ]
    facts = NoteFacts(
        at=_moment(run, entry["day"], entry["at"]),
        text=entry["text"],
        stage_key=entry.get("stage", ""),
        grid=entry.get("grid", ""),
        weather=entry.get("weather", ""),
        air_celsius=_degrees(entry.get("air")),
        wall_celsius=_degrees(entry.get("wall")),
    )
    write_note(actor=by, run=run, facts=facts, photographs=photographs)


def _degrees(value: object) -> Decimal | None:
    return None if value is None else Decimal(str(value))


def _file(drawn: str) -> "File[bytes]":
    out = BytesIO()
    picture(drawn).save(out, "PNG")
    return ContentFile(out.getvalue(), name=f"{drawn}.png")


def _mix(told: Mapping[str, Any], run: CourseRun, people: Mapping[str, Person]) -> None:
    batch, curing = told["batch"], told["curing"]
    mixed = mix_batch(
        actor=people[batch["by"]],
        run=run,
        label=batch["label"],
        mix=batch["mix"],
        mixed_at=_moment(run, batch["day"], batch["at"]),
        working_minutes=batch["working_minutes"],
        source=batch["source"],
    )
    begin_curing(
        actor=people[batch["by"]],
        run=run,
        batch=mixed,
        what=curing["what"],
        grid=curing["grid"],
        protection=curing["protection"],
        started_at=_moment(run, curing["day"], curing["at"]),
        hours=curing["hours"],
        source=curing["source"],
    )
