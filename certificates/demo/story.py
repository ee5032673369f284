"""Telling the scenario of fixtures/demo/scenario.yaml through the product's own actions.

Nothing is written past the actions: every permission, guard and log row of real use is
passed. All but the records is one transaction, so that an interrupted first run leaves
nothing; a record is issued in a transaction of its own, and what is missing is issued next.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import timedelta
from pathlib import Path
from typing import Any

from django.db import transaction
from django.utils import timezone
from ruamel.yaml import YAML

from assessments.actions.programs import load_program
from assessments.actions.sealing import seal_standard
from assessments.models import Attempt, Decision
from certificates.actions.issue import issue_record
from certificates.demo.calibration import calibrate
from certificates.demo.course import tell_course
from certificates.demo.crew import tell_project
from certificates.demo.documents import keep_documents
from certificates.demo.panel import fix_standard
from certificates.demo.scoring import assess
from certificates.demo.second_look import tell_second_look
from training.actions.enrolments import enrol_person
from training.actions.passwords import set_password
from training.actions.people import add_organisation, add_person
from training.actions.runs import create_run, open_run
from training.actions.sites import add_site
from training.models import CourseRun, Organisation, Person, Program, Site

FIXTURES = Path(__file__).resolve().parent.parent.parent / "fixtures"
SCENARIO = FIXTURES / "demo" / "scenario.yaml"
Say = Callable[[str], None]


@dataclass
class Cast:
    """What was made so far, by the key that the scenario gives it."""

    organisations: dict[str, Organisation] = field(default_factory=dict)
    people: dict[str, Person] = field(default_factory=dict)
    sites: dict[str, Site] = field(default_factory=dict)
    programs: dict[str, Program] = field(default_factory=dict)
    runs: dict[str, CourseRun] = field(default_factory=dict)


def read_scenario(path: Path = SCENARIO) -> dict[str, Any]:
    """Return the scenario as plain data."""
    scenario: dict[str, Any] = YAML(typ="safe").load(path.read_text(encoding="utf-8"))
    return scenario


def is_told(scenario: Mapping[str, Any]) -> bool:
    """Say whether the scenario is in the database already."""
    first = next(iter(scenario["organisations"].values()))
    return Organisation.objects.filter(name=first["name"]).exists()


@transaction.atomic
def tell(scenario: Mapping[str, Any], say: Say) -> None:
    """Make people, programs, standards, runs, attempts and decisions."""
    cast = Cast()
    say("people and organisations")
    _people(scenario, cast)
    for entry in scenario["programs"]:
        say(f"program {entry['file']}, its standard fixed and sealed")
        _program(scenario, entry, cast)
    for key, entry in scenario["runs"].items():
        say(f"course run at {cast.sites[entry['site']]}")
        cast.runs[key] = _run(entry, cast)
    for entry in scenario["runs"].values():
        for name in entry["trainees"]:
            _trainee_password(scenario, cast.people[name])
    lead, programs = cast.people["lead"], cast.programs
    keep_documents(scenario["documents"], lead=lead, people=cast.people, programs=programs)
    for entry in scenario["courses"]:
        run = cast.runs[entry["run"]]
        say(f"calendar, presence and site log of {run.site}")
        tell_course(entry, lead=lead, run=run, people=cast.people)
    for entry in scenario["programs"]:
        if "calibration" in entry:
            _calibration(scenario, entry, cast, say)
    for entry in scenario["attempts"]:
        say(f"assessment of {cast.people[entry['trainee']]}")
        _attempt(entry, scenario["typical"], cast)
    if scenario["second_look"]:
        say("what follows the results")
        tell_second_look(scenario["second_look"], cast.people)
    for entry in scenario["projects"]:
        say(f"project {entry['name']}")
        tell_project(entry, scenario)


def issue_missing(scenario: Mapping[str, Any], say: Say) -> None:
    """Issue the records that the scenario asks for and that are not there yet."""
    issued = {entry["trainee"]: entry for entry in scenario["attempts"] if entry.get("issue")}
    for key, entry in issued.items():
        email = scenario["runs"][entry["run"]]["trainees"][key]["email"]
        decision = Decision.objects.filter(
            attempt__enrolment__person__email=email, records__isnull=True, result="met"
        ).first()
        if decision is None:
            continue
        say(f"signed record of {decision.attempt.enrolment.person}")
        issue_record(actor=decision.decided_by, decision=decision)


def _people(scenario: Mapping[str, Any], cast: Cast) -> None:
    for key, entry in scenario["organisations"].items():
        cast.organisations[key] = add_organisation(
            actor=None, kind=entry["kind"], name=entry["name"], address=entry["address"]
        )
    for key, entry in scenario["people"].items():
        person = add_person(
            actor=None,
            full_name=entry["name"],
            email=entry["email"],
            role=entry["role"],
            organisation=cast.organisations[entry["organisation"]],
        )
        set_password(person=person, password=scenario["password"])
        cast.people[key] = person
    for key, entry in scenario["sites"].items():
        cast.sites[key] = add_site(
            actor=cast.people["lead"],
            provider=cast.organisations["provider"],
            name=entry["name"],
            address=entry["address"],
            time_zone=entry["time_zone"],
            owner=cast.organisations[entry["owner"]],
        )


def _program(scenario: Mapping[str, Any], entry: Mapping[str, Any], cast: Cast) -> None:
    path = FIXTURES / "programs" / entry["file"]
    program = load_program(
        actor=cast.people["lead"],
        provider=cast.organisations["provider"],
        source=path.read_text(encoding="utf-8"),
        filename=path.name,
    )
    cast.programs[program.code] = program
    if "panel" in entry:
        fix_standard(
            lead=cast.people["lead"],
            program=program,
            told=entry["panel"],
            password=scenario["password"],
        )
    if entry["seal"]:
        seal_standard(actor=cast.people["lead"], program=program)


def _calibration(
    scenario: Mapping[str, Any], entry: Mapping[str, Any], cast: Cast, say: Say
) -> None:
    told = entry["calibration"]
    program = cast.programs[told["program"]]
    calibrate(
        lead=cast.people["lead"],
        standard=program.standards.get(),
        told=told,
        typical=scenario["typical"][program.code],
        assessors=[(cast.people[key], differs or {}) for key, differs in told["assessors"].items()],
        say=say,
    )


def _run(entry: Mapping[str, Any], cast: Cast) -> CourseRun:
    lead = cast.people["lead"]
    today = timezone.localdate()
    run = create_run(
        actor=lead,
        program=cast.programs[entry["program"]],
        site=cast.sites[entry["site"]],
        starts_on=today + timedelta(days=entry["starts_in_days"]),
        ends_on=today + timedelta(days=entry["ends_in_days"]),
        instructors=[cast.people[key] for key in entry["instructors"]],
    )
    for key, trainee in entry["trainees"].items():
        enrolment = enrol_person(
            actor=lead,
            run=run,
            full_name=trainee["name"],
            email=trainee["email"],
            employer=cast.organisations[trainee["employer"]] if trainee["employer"] else None,
        )
        cast.people[key] = enrolment.person
    return open_run(actor=lead, run=run) if entry["open"] else run


def _trainee_password(scenario: Mapping[str, Any], person: Person) -> None:
    if not person.has_usable_password():
        set_password(person=person, password=scenario["password"])


def _attempt(entry: Mapping[str, Any], typical: Mapping[str, Any], cast: Cast) -> Attempt:
    run, second = cast.runs[entry["run"]], entry.get("second")
    return assess(
        instructor=cast.people[entry["instructor"]],
        enrolment=run.enrolments.get(person=cast.people[entry["trainee"]]),
        values={**typical[run.program.code], **(entry.get("differs") or {})},
        without=entry.get("without") or [],
        second=(cast.people[second["instructor"]], second["differs"]) if second else None,
        sign=entry.get("sign", True),
        note=entry.get("note", ""),
    )
