"""Makers of sealed standards, attempts and observations for the tests; all invented."""

import copy
import threading
import uuid
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from django.db import connection
from django.utils import timezone

from assessments.actions.attempts import start_attempt
from assessments.actions.observations import record_observation
from assessments.models import Attempt, SealedStandard
from tests.factories import enrol, make_organisation, make_person, make_program, make_role, make_run
from training.digests import digest
from training.models import CourseRun, Enrolment, Organisation, Person, Program, Role

LEVELS = [
    {"points": "0", "description": "Open joint, or a face that rocks"},
    {"points": "1", "description": "Joint closed, hollow spots left"},
    {"points": "2", "description": "Joint full and even"},
]
ONE_ASSESSOR = {
    "critical": True,
    "outcome_minima": True,
    "cut": "0.7",
    "band": None,
    "assessors": {"required": 1, "combine": "mean"},
}


def criterion(key: str, stage: str, kind: str, **fields: object) -> dict[str, Any]:
    """Return one criterion that serves O1 with weight 1."""
    return {
        "key": key,
        "title": f"Criterion {key}",
        "stage": stage,
        "kind": kind,
        "critical": False,
        "not_applicable": False,
        "weight": "1",
        "outcomes": {"O1": "1"},
        "guidance": "",
        **fields,
    }


def standard_document(program: Program, **changes: object) -> dict[str, Any]:
    """Return a standard with a criterion of each kind; the stage ``fit`` is a hold point."""
    document: dict[str, Any] = {
        "schema": "bankermark/standard/1",
        "program": {"code": program.code, "version": program.version, "title": program.title},
        "outcomes": [{"key": "O1", "statement": "Sets a dutchman", "minimum": "0.5"}],
        "stages": [
            {"key": "fit", "title": "Dry fit", "hold_point": True},
            {"key": "set", "title": "Setting", "hold_point": False},
        ],
        "dimensions": {"opening_width": {"value": "6", "unit": "in"}},
        "criteria": [
            criterion("C1", "fit", "rated", levels=LEVELS, met_from=1),
            criterion(
                "C2",
                "fit",
                "measured",
                quantity="length",
                unit="in",
                readings=2,
                statistic="each",
                limits={"lower": "1/16", "upper": "3/16"},
                limits_source="Drawing of the yard",
                instrument={
                    "name": "feeler gauge",
                    "maximum_permissible_error": "1/256",
                    "resolution": "1/128",
                    "ends": 1,
                },
                decision_rule={"kind": "guard_band", "r": "1"},
                coverage_factor="2",
                minimum_ratio=None,
            ),
            criterion("C3", "set", "checked", expected=True, critical=True),
            criterion(
                "C4",
                "set",
                "counted",
                what="voids",
                limits={"lower": None, "upper": "1"},
                not_applicable=True,
            ),
            criterion("C5", "set", "timed", limits={"lower": "10", "upper": "30"}, unit="min"),
        ],
        "pass_rule": copy.deepcopy(ONE_ASSESSOR),
    }
    return {**document, **changes}


def make_standard(program: Program, **changes: object) -> SealedStandard:
    """Return the next sealed standard of ``program``, sealed now."""
    document = standard_document(program, **changes)
    lead = make_role(Role.Kind.LEAD, program.provider)
    return SealedStandard.objects.create(
        program=program,
        serial=program.standards.count() + 1,
        document=document,
        digest=digest(document),
        sealed_at=timezone.now(),
        sealed_by=lead,
    )


@dataclass(frozen=True)
class Yard:
    """A provider with a lead, an instructor, one run, one trainee and a sealed standard."""

    provider: Organisation
    program: Program
    lead: Person
    instructor: Person
    run: CourseRun
    trainee: Person
    enrolment: Enrolment
    standard: SealedStandard

    def attempt(self) -> Attempt:
        """Start an attempt of the trainee."""
        return start_attempt(actor=self.instructor, enrolment=self.enrolment)


def make_yard(**changes: object) -> Yard:
    """Return a yard; ``changes`` replace parts of the standard's document."""
    provider = make_organisation()
    program = make_program(provider)
    lead = make_role(Role.Kind.LEAD, provider)
    instructor = make_role(Role.Kind.INSTRUCTOR, provider)
    run = make_run(program, instructors=(instructor,))
    trainee = make_person()
    standard = make_standard(program, **changes)
    return Yard(provider, program, lead, instructor, run, trainee, enrol(run, trainee), standard)


def event(
    attempt: Attempt, key: str, value: Mapping[str, object], **changes: object
) -> dict[str, Any]:
    """Return an event as a device sends it; ``kind`` of the subject is criterion unless given."""
    kind = changes.pop("kind", "criterion")
    base: dict[str, Any] = {
        "id": str(uuid.uuid4()),
        "attempt": str(attempt.pk),
        "subject": {"kind": kind, "key": key},
        "device": "00000000-0000-4000-8000-000000000001",
        "epoch": str(uuid.uuid4()),
        "seq": 1,
        "device_time": "2026-11-03T10:15:00-05:00",
        "device_zone": "America/New_York",
        "standard_digest": attempt.standard.digest,
        "schema_version": 1,
        "value": dict(value),
        "note": "",
        "replaces": None,
    }
    return {**base, **changes}


def readings(*typed: tuple[str, str, str]) -> dict[str, object]:
    """Return the value of a measured criterion from (typed, value, unit) triples."""
    return {"readings": [{"typed": t, "value": v, "unit": u} for t, v, u in typed]}


GOOD: dict[str, dict[str, object]] = {
    "C1": {"level": 2},
    "C2": readings(('1/8"', "1/8", "in"), ("1/8 in", "1/8", "in")),
    "C3": {"answer": True},
    "C4": {"count": 0},
    "C5": {"start": "2026-11-03T09:00:00-05:00", "end": "2026-11-03T09:20:00-05:00"},
}


def at_once(work: Callable[[int], Any]) -> list[Any]:
    """Run ``work(0)`` and ``work(1)`` in two threads at the same moment; return what each gave."""
    barrier = threading.Barrier(2)
    results: list[Any] = [None, None]

    def run(number: int) -> None:
        try:
            barrier.wait(timeout=30)
            results[number] = work(number)
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=(number,)) for number in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return results


def score_all(attempt: Attempt, assessor: Person, **changes: dict[str, object] | None) -> None:
    """Record GOOD and accept the hold point ``fit``; a change replaces a value, None skips it."""
    values: dict[str, dict[str, object] | None] = {**GOOD, "fit": {"accepted": True}, **changes}
    for key, value in values.items():
        if value is not None:
            kind = "hold_point" if key == "fit" else "criterion"
            record_observation(actor=assessor, event=event(attempt, key, value, kind=kind))
