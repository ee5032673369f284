"""Sealing a standard: what blocks it, who may, and the digest that is kept."""

import hashlib
from pathlib import Path

import pytest
import rfc8785
from django.core.exceptions import PermissionDenied

from assessments.actions.programs import load_program
from assessments.actions.sealing import NotReady, seal_standard
from assessments.engine.standard import load_standard
from assessments.models import SealedStandard
from assessments.standard_document import standard_document
from tests.assessments.programfile.sources import SMALL, changed
from tests.factories import enrol, make_organisation, make_person, make_program, make_role, make_run
from training.errors import Refused
from training.models import LogEntry, Organisation, Person, Program

pytestmark = pytest.mark.django_db

PROGRAMS = sorted((Path(__file__).parents[2] / "fixtures" / "programs").glob("*.yaml"))

# The smallest program that can be sealed, and its standard in RFC 8785 form, written by hand:
# names in order, no white space.
TINY = """\
format: bankermark program 1
code: TINY
version: 3
title: Tiny
unit: mm
modules:
  - {key: M1, title: All, kind: lecture, minutes: 5, teaches: [O1]}
outcomes:
  - {key: O1, statement: Does it, minimum: 50 %}
task:
  title: One
  conditions:
    - {name: Place, value: Shop}
  sheet:
    - {sum: lifts, unit: mm, depth: 25 mm, thickness: 6 mm}
  stages:
    - {key: only, title: Only stage}
  criteria:
    - {key: done, title: Done, stage: only, kind: checked, serves: {O1: 1/2}, expected: yes}
pass_rule: {critical: no, outcome_minima: yes, assessors: {required: 1, combine: lower}}
"""
TINY_STANDARD = (
    '{"about":{"task":{"brief":"","cautions":[],"conditions":[{"name":"Place","value":"Shop"}],'
    '"sheet":[{"depth":"25","note":"","sum":"lifts","thickness":"6","title":"","unit":"mm"}],'
    '"title":"One"}},'
    '"criteria":[{"critical":false,"expected":true,"guidance":"","key":"done","kind":"checked",'
    '"not_applicable":false,"outcomes":{"O1":"1/2"},"stage":"only","title":"Done","weight":"1"}],'
    '"dimensions":{},"outcomes":[{"key":"O1","minimum":"0.5","statement":"Does it"}],'
    '"pass_rule":{"assessors":{"combine":"lower","required":1},"band":null,"critical":false,'
    '"cut":null,"guard_band":"undecided","outcome_minima":true},'
    '"program":{"code":"TINY","title":"Tiny","version":3},"schema":"bankermark/standard/1",'
    '"stages":[{"hold_point":false,"key":"only","title":"Only stage"}]}'
)


@pytest.fixture
def provider() -> Organisation:
    return make_organisation()


@pytest.fixture
def lead(provider: Organisation) -> Person:
    return make_role("lead", provider)


def load(lead: Person, provider: Organisation, source: str | bytes = SMALL) -> Program:
    return load_program(actor=lead, provider=provider, source=source, filename="sill.yaml")


def test_the_digest_is_the_one_worked_out_by_hand(lead: Person, provider: Organisation) -> None:
    sealed = seal_standard(actor=lead, program=load(lead, provider, TINY))
    assert sealed.digest == hashlib.sha256(TINY_STANDARD.encode()).hexdigest()
    # SHA-256 of that text, worked out with sha256sum of GNU coreutils.
    assert sealed.digest == "73e7a3d96ec6b0d6482bccbaa7766d86fdbea98ea714873f1bb287cd91f0ecbc"


@pytest.mark.parametrize("path", PROGRAMS, ids=lambda path: path.stem)
def test_a_shipped_program_can_be_sealed(path: Path, lead: Person, provider: Organisation) -> None:
    """Digest against RFC 8785 as the package rfc8785 writes it, and hashlib."""
    program = load(lead, provider, path.read_bytes())
    sealed = seal_standard(actor=lead, program=program)
    sealed.refresh_from_db()
    assert sealed.digest == hashlib.sha256(rfc8785.dumps(sealed.document)).hexdigest()
    assert sealed.document == standard_document(program)
    assert load_standard(sealed.document).digest == sealed.digest


def test_a_seal_leaves_a_log_row(lead: Person, provider: Organisation) -> None:
    program = load(lead, provider)
    sealed = seal_standard(actor=lead, program=program)
    assert (sealed.serial, sealed.sealed_by, sealed.program) == (1, lead, program)
    entry = LogEntry.objects.latest("seq")
    assert (entry.verb, entry.subject_id) == ("standard.sealed", str(sealed.pk))
    assert entry.data == {"program": str(program.pk), "serial": 1, "digest": sealed.digest}


def test_the_same_standard_is_sealed_once(lead: Person, provider: Organisation) -> None:
    program = load(lead, provider)
    seal_standard(actor=lead, program=program)
    with pytest.raises(Refused, match="sealed already, as standard 1"):
        seal_standard(actor=lead, program=program)
    assert SealedStandard.objects.count() == 1


def test_a_new_cut_of_the_panel_is_sealed_as_the_next_standard(
    lead: Person, provider: Organisation
) -> None:
    program = load(lead, provider)
    first = seal_standard(actor=lead, program=program)
    rule = program.pass_rule
    rule.document = {**rule.document, "cut": "0.75"}
    rule.save()
    second = seal_standard(actor=lead, program=program)
    assert (second.serial, second.document["pass_rule"]["cut"]) == (2, "0.75")
    assert second.digest != first.digest


# What is changed in the sample, and what the refusal has to say.
UNFIT = [
    ([("teaches: [O1, O2]", "teaches: [O1]")], "No module teaches outcome O2"),
    ([("teaches: [O1, O2]", "teaches: []")], "Module M1 teaches no outcome"),
    (
        [
            ("statement: Sets the piece.", "statement: Sets it.\n  - key: O3\n    statement: New"),
            ("[O1, O2]", "[O1, O2, O3]"),
        ],
        "No criterion assesses outcome O3",
    ),
    (
        [("resolution: 1/64 in", "resolution: 1/8 in")],
        "criterion width, instrument: The instrument is too coarse",
    ),
    (
        [("decision_rule: guard band 1", "decision_rule: guard band 90")],
        "guard bands leave nothing",
    ),
    (
        [("critical: yes\n      not_applicable: no\n      weight: 1 1/2",
          "critical: no\n      not_applicable: no\n      weight: 1")],
        "pass_rule, critical: No criterion is critical",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("changes", "sentence"), UNFIT)
def test_what_is_unfit_is_not_sealed(
    changes: list[tuple[str, str]], sentence: str, lead: Person, provider: Organisation
) -> None:
    program = load(lead, provider, changed(*changes))
    with pytest.raises(NotReady) as caught:
        seal_standard(actor=lead, program=program)
    assert sentence in caught.value.message
    assert SealedStandard.objects.count() == 0


def test_all_that_is_missing_is_named_at_once_and_once(
    lead: Person, provider: Organisation
) -> None:
    program = load(
        lead,
        provider,
        changed(
            ("statement: Sets the piece.", "statement: Sets it.\n  - key: O3\n    statement: New"),
            ("resolution: 1/64 in", "resolution: 1/8 in"),
        ),
    )
    with pytest.raises(NotReady) as caught:
        seal_standard(actor=lead, program=program)
    assert [fault.split(":")[0] for fault in caught.value.faults] == [
        "No module teaches outcome O3",
        "No criterion assesses outcome O3",
        "criterion width, instrument",
    ]


def test_a_program_without_a_task_is_not_sealed(lead: Person, provider: Organisation) -> None:
    with pytest.raises(Refused, match="no practical task or no pass rule"):
        seal_standard(actor=lead, program=make_program(provider))


@pytest.mark.parametrize("kind", ["instructor", "contractor"])
def test_other_roles_at_the_provider_are_refused(
    kind: str, lead: Person, provider: Organisation
) -> None:
    program = load(lead, provider)
    with pytest.raises(PermissionDenied):
        seal_standard(actor=make_role(kind, provider), program=program)
    assert SealedStandard.objects.count() == 0


@pytest.mark.parametrize("kind", ["lead", "instructor", "contractor"])
def test_roles_elsewhere_are_refused(kind: str, lead: Person, provider: Organisation) -> None:
    program = load(lead, provider)
    with pytest.raises(PermissionDenied):
        seal_standard(actor=make_role(kind, make_organisation()), program=program)
    assert SealedStandard.objects.count() == 0


def test_a_trainee_is_refused(lead: Person, provider: Organisation) -> None:
    program = load(lead, provider)
    trainee = make_person()
    enrol(make_run(program), trainee)
    with pytest.raises(PermissionDenied):
        seal_standard(actor=trainee, program=program)
    assert SealedStandard.objects.count() == 0
