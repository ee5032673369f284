"""A panel that has judged, built from rows; all people and pieces are invented."""

import uuid
from dataclasses import dataclass
from typing import Any

from django.utils import timezone

from assessments.actions.attempts import start_attempt
from assessments.actions.programs import load_program
from assessments.actions.sealing import seal_standard
from assessments.engine import decide
from assessments.models import Attempt, Decision, Judge, Judgement, JudgingRound, Panel
from assessments.queries.panel.judged import judged_digest
from tests.factories import enrol, make_organisation, make_person, make_role, make_run
from training.models import CourseRun, Organisation, Person, Program

PROGRAM = """\
format: bankermark program 1
code: LEDGE
version: 1
title: Ledge repair
validity_months: 24
unit: in
modules:
  - {key: M1, title: All of it, kind: demonstration, minutes: 60, teaches: [O1, O2]}
outcomes:
  - {key: O1, statement: Cuts the piece, minimum: 50 %}
  - {key: O2, statement: Sets the piece}
task:
  title: One ledge
  stages:
    - {key: work, title: The work, hold_point: no}
  criteria:
    - {key: arris, title: Arris whole, stage: work, kind: checked, serves: {O1: 1}, expected: yes}
    - {key: bed, title: Bed full, stage: work, kind: checked, serves: {O2: 1}, expected: yes}
    - {key: face, title: Face true, stage: work, kind: checked, serves: {O1: 1}, expected: yes}
    - {key: wet, title: Cut wet, stage: work, kind: checked, critical: yes, serves: {O1: 1},
       expected: yes}
    - {key: joint, title: Joint even, stage: work, kind: checked, serves: {O2: 1}, expected: yes}
    - {key: clean, title: Left clean, stage: work, kind: checked, serves: {O2: 1}, expected: yes}
pass_rule:
  critical: yes
  outcome_minima: yes
  cut: 60 %
  band: 5 %
  assessors: {required: 1, combine: mean}
"""
KEYS = ("arris", "bed", "face", "wet", "joint", "clean")

# Judges x criteria. A constructed example; the judges' cuts 4.40, 4.45, 4.05, 4.90 and 4.30 of 6,
# their mean 4.42 (73.67 %) and its standard error SD / sqrt(5) = 0.1384 (2.31 %) were worked out
# apart from this program. The formula of the error: MacCann & Stanley 2004.
ANGOFF = (
    (".80", ".70", ".60", ".90", ".75", ".65"),
    (".85", ".60", ".55", ".95", ".80", ".70"),
    (".75", ".65", ".50", ".85", ".70", ".60"),
    (".90", ".75", ".70", ".95", ".85", ".75"),
    (".80", ".70", ".55", ".90", ".70", ".65"),
)
FIRST = tuple(
    (".50", ".50", ".50", ".50", ".50", share) for share in (".1", ".3", ".5", ".7", ".9")
)
LIMITS = {"least_cut": "0.6", "most_cut": "0.8", "least_fail": "0.05", "most_fail": "0.4"}


@dataclass(frozen=True)
class World:
    """A provider with a lead, a program, and a panel on it whose judging is closed."""

    provider: Organisation
    lead: Person
    program: Program
    panel: Panel
    judges: list[Judge]


def make_world(earlier: tuple[int, ...] = (), **fields: object) -> World:
    """Return a panel of five judges by Angoff's method after a training round and two others.

    ``earlier`` are the criteria met, of six, in attempts that were decided before.
    """
    provider = make_organisation()
    lead = make_role("lead", provider, "Odile Brandreth")
    program = load_program(actor=lead, provider=provider, source=PROGRAM, filename="ledge.yaml")
    if earlier:
        decided(program, lead, make_run(program), earlier)
    panel = make_panel(program, lead, **fields)
    judges = [seat(panel, lead, f"Judge number {place}") for place in range(5)]
    begin(panel)
    for number, estimates in enumerate((ANGOFF[:1], FIRST, ANGOFF)):
        made = open_round(panel, number, lead)
        for judge, row in zip(judges, estimates, strict=False):
            for key, share in zip(KEYS, row, strict=True):
                judge_says(made, judge, key, {"share": f"0{share}"})
            if panel.sense_check:
                judge_says(made, judge, "limits", LIMITS, kind="limits")
        close(made, lead, "We talked over the bed." if number else "")
    finish(panel)
    return World(provider, lead, program, panel, judges)


def decided(program: Program, lead: Person, run: CourseRun, met: tuple[int, ...]) -> list[Attempt]:
    """Return decided attempts at a sealed standard, each with so many of the criteria met."""
    if not program.standards.exists():
        seal_standard(actor=lead, program=program)
    return [
        _decided(start_attempt(actor=lead, enrolment=enrol(run, make_person())), lead, count)
        for count in met
    ]


def _decided(attempt: Attempt, lead: Person, met: int) -> Attempt:
    observations = {
        "schema": "bankermark/observations/1",
        "attempt": str(attempt.pk),
        "observations": [
            {
                "id": str(uuid.uuid4()),
                "subject": {"kind": "criterion", "key": key},
                "assessor": str(lead.pk),
                "value": {"answer": place < met},
                "note": "",
                "replaces": None,
            }
            for place, key in enumerate(KEYS)
        ],
    }
    document = decide(attempt.standard.document, observations)
    Decision.objects.create(
        attempt=attempt,
        standard_digest=attempt.standard.digest,
        result=document["result"],
        document=document,
        observations=observations,
        engine_version=document["engine"],
        decided_by=lead,
    )
    attempt.state = Attempt.State.DECIDED
    attempt.save()
    return attempt


def make_panel(program: Program, lead: Person, **fields: object) -> Panel:
    """Return the next panel on a program, being prepared."""
    values: dict[str, object] = {
        "method": "angoff",
        "just_meets": "Works alone on a plain ledge, and asks where the bed is doubtful.",
        "number": program.panels.count() + 1,
        "made_by": lead,
    }
    return Panel.objects.create(program=program, **{**values, **fields})


def seat(panel: Panel, lead: Person, name: str) -> Judge:
    """Return a judge who has taken the seat."""
    return Judge.objects.create(
        panel=panel,
        person=make_person(name),
        state=Judge.State.SEATED,
        qualifications="Twenty years at the banker",
        interests="None to declare",
        declared_at=timezone.now(),
        invited_by=lead,
    )


def begin(panel: Panel) -> None:
    """Begin the judging."""
    panel.judged_digest = judged_digest(panel.program)
    panel.state = Panel.State.JUDGING
    panel.save()


def finish(panel: Panel) -> None:
    """Close the judging."""
    panel.state = Panel.State.JUDGED
    panel.save()


def open_round(panel: Panel, number: int, lead: Person) -> JudgingRound:
    """Return a new open round."""
    return JudgingRound.objects.create(panel=panel, number=number, opened_by=lead)


def close(round: JudgingRound, lead: Person, discussion: str = "") -> None:
    """Close a round."""
    round.state = JudgingRound.State.CLOSED
    round.closed_at, round.closed_by = timezone.now(), lead
    round.discussion = discussion
    round.save()


def judge_says(
    round: JudgingRound, judge: Judge, key: str, value: dict[str, Any], kind: str = "criterion"
) -> Judgement:
    """Return a judgement."""
    return Judgement.objects.create(
        round=round, judge=judge, subject_kind=kind, subject_key=key, value=value
    )


ADOPTED: dict[str, Any] = {
    "cut": "73.67 %",
    "band": "5 %",
    "outcome_minima": {"O1": "50 %", "O2": ""},
    "critical": {"wet"},
    "reason": "",
}
