"""Coverage, the draft in readable form, sealing it, and the sealed standard."""

from pathlib import Path

import pytest
from django.conf import settings
from django.test import Client
from django.urls import reverse

from assessments.actions.programs import load_program
from assessments.models import CriterionOutcome, SealedStandard
from assessments.queries.program_document import program_document
from assessments.sentences import pass_rule_sentences
from tests.assessments.builders import ONE_ASSESSOR, standard_document
from tests.factories import enrol, make_organisation, make_person, make_program, make_role, make_run
from training.models import Module, Person, Program, Role

pytestmark = pytest.mark.django_db
FIXTURE: Path = settings.BASE_DIR / "fixtures" / "programs" / "dutchman.yaml"


@pytest.fixture
def lead() -> Person:
    return make_role(Role.Kind.LEAD, make_organisation())


@pytest.fixture
def program(lead: Person) -> Program:
    provider = lead.roles.get().organisation
    return load_program(
        actor=lead, provider=provider, source=FIXTURE.read_bytes(), filename=FIXTURE.name
    )


def browser(person: Person) -> Client:
    client = Client()
    client.force_login(person)
    return client


def draft_address(program: Program) -> str:
    return reverse("standard", args=[program.pk])


def seal(lead: Person, program: Program, **changes: str) -> int:
    client = browser(lead)
    digest = client.get(draft_address(program)).context["digest"]
    sent = {"read": "on", "read_digest": digest, **changes}
    return client.post(reverse("standard_seal", args=[program.pk]), sent).status_code


def test_the_draft_is_shown_in_words(lead: Person, program: Program) -> None:
    response = browser(lead).get(draft_address(program))
    shown = response.content.decode()
    document = response.context["document"]
    for stage in document["stages"]:
        assert stage["title"] in shown
    for criterion in document["criteria"]:
        assert f">{criterion['key']}</th>" in shown
    assert "Met from here" in shown
    assert "Hold point:" in shown
    assert "Every critical criterion is met" in shown
    assert "29 CFR 1926.1153" in shown
    assert "None yet. Attempts can start once a standard is sealed." in shown


def test_sealing_asks_for_a_confirmation_and_keeps_what_was_read(
    lead: Person, program: Program
) -> None:
    client = browser(lead)
    digest = client.get(draft_address(program)).context["digest"]
    address = reverse("standard_seal", args=[program.pk])
    response = client.post(address, {"read_digest": digest})
    assert response.status_code == 422
    assert "Read the draft below, then tick this." in response.content.decode()
    assert not SealedStandard.objects.exists()
    response = client.post(address, {"read": "on", "read_digest": digest})
    sealed = SealedStandard.objects.get()
    assert response["Location"] == reverse("sealed_standard", args=[sealed.pk])
    assert (sealed.digest, sealed.sealed_by, sealed.serial) == (digest, lead, 1)
    shown = client.get(draft_address(program)).content.decode()
    assert digest in shown
    assert "There is nothing new to seal." in shown
    assert "Seal this draft" not in shown


def test_a_draft_changed_since_it_was_read_is_not_sealed(lead: Person, program: Program) -> None:
    assert seal(lead, program, read_digest="0" * 64) == 422
    assert not SealedStandard.objects.exists()
    assert seal(lead, program) == 302


def test_sealing_twice_says_which_it_is(lead: Person, program: Program) -> None:
    client = browser(lead)
    digest = client.get(draft_address(program)).context["digest"]
    sent = {"read": "on", "read_digest": digest}
    address = reverse("standard_seal", args=[program.pk])
    assert client.post(address, sent).status_code == 302
    response = client.post(address, sent)
    assert response.status_code == 422
    assert SealedStandard.objects.count() == 1


def test_what_keeps_it_from_being_sealed_is_named(lead: Person, program: Program) -> None:
    CriterionOutcome.objects.filter(outcome__key="O5").delete()
    client = browser(lead)
    shown = client.get(draft_address(program)).content.decode()
    assert "This keeps the draft from being sealed" in shown
    assert "No criterion assesses outcome O5" in shown
    assert "Seal this draft" not in shown
    assert seal(lead, program) == 422
    assert not SealedStandard.objects.exists()


def test_a_draft_that_cannot_be_read_is_said_not_broken(lead: Person, program: Program) -> None:
    rule = program.pass_rule
    rule.document = {**rule.document, "cut": "much"}
    rule.save()
    response = browser(lead).get(draft_address(program))
    assert response.status_code == 200
    shown = response.content.decode()
    assert "cut: Write an exact decimal" in shown
    assert "Seal this draft" not in shown


def test_a_program_without_a_task_says_what_to_write(lead: Person) -> None:
    bare = make_program(lead.roles.get().organisation)
    for name in ("standard", "program_coverage"):
        response = browser(lead).get(reverse(name, args=[bare.pk]))
        assert response.status_code == 200
        assert "write them in its program file" in response.content.decode()


def test_coverage_marks_who_teaches_and_assesses(lead: Person, program: Program) -> None:
    address = reverse("program_coverage", args=[program.pk])
    response = browser(lead).get(address)
    shown = response.content.decode()
    assert "No gaps." in shown
    rows = response.context["parts"][0][1]
    first = next(marks for column, marks in rows if column.key == "M1")
    document = program_document(program)
    taught = {module["key"]: module["teaches"] for module in document["modules"]}
    assert [outcome.key for outcome, mark in first if mark] == taught["M1"]
    assert 'data-label="O1">✓</td>' in shown
    module = Module.objects.get(key="M2")
    module.outcomes.clear()
    shown = browser(lead).get(address).content.decode()
    assert "No gaps." not in shown
    assert "Module M2 teaches no outcome" in shown


def test_a_measured_criterion_says_what_its_rule_risks(lead: Person, program: Program) -> None:
    """With a guard band of 1 U, k = 2, a limit is accepted with 1 - Φ(2), by scipy.stats.norm."""
    response = browser(lead).get(draft_address(program))
    shown = response.content.decode()
    assert "Risk: about 23 of 1,000 pieces exactly on a limit would be accepted" in shown
    measured = [
        row for row in response.context["document"]["criteria"] if row["kind"] == "measured"
    ]
    known = [row for row in measured if row.get("instrument")]
    assert shown.count("Risk: ") == len(known) > 0


def test_a_sealed_standard_is_shown_to_whom_it_concerns(lead: Person, program: Program) -> None:
    seal(lead, program)
    sealed = SealedStandard.objects.get()
    teacher = make_role(Role.Kind.INSTRUCTOR, program.provider)
    run = make_run(program, instructors=(teacher,))
    trainee = make_person()
    enrol(run, trainee)
    stranger = make_role(Role.Kind.LEAD, make_organisation())
    pages = {
        "sealed_standard": (sealed.pk, {lead: 200, teacher: 200, trainee: 200, stranger: 404}),
        "standard": (program.pk, {lead: 200, teacher: 200, trainee: 200, stranger: 404}),
        "program_coverage": (program.pk, {lead: 200, teacher: 200, trainee: 404, stranger: 404}),
    }
    for name, (key, expected) in pages.items():
        for person, status in expected.items():
            assert browser(person).get(reverse(name, args=[key])).status_code == status, name
    shown = browser(trainee).get(reverse("sealed_standard", args=[sealed.pk])).content.decode()
    assert sealed.digest in shown
    # A trainee reads what is sealed, not what is being drafted.
    assert "The draft:" not in browser(trainee).get(draft_address(program)).content.decode()


def test_only_a_lead_seals(lead: Person, program: Program) -> None:
    teacher = make_role(Role.Kind.INSTRUCTOR, program.provider)
    run = make_run(program, instructors=(teacher,))
    trainee = make_person()
    enrol(run, trainee)
    stranger = make_role(Role.Kind.LEAD, make_organisation())
    address = reverse("standard_seal", args=[program.pk])
    for person, status in [(teacher, 403), (trainee, 403), (stranger, 404)]:
        for sent in ({"read": "on"}, {}):
            assert browser(person).post(address, sent).status_code == status
    assert "Seal as the next" not in browser(teacher).get(draft_address(program)).content.decode()
    assert not SealedStandard.objects.exists()


def test_a_trainee_has_no_draft_to_read_before_a_seal(program: Program) -> None:
    trainee = make_person()
    enrol(make_run(program), trainee)
    assert browser(trainee).get(draft_address(program)).status_code == 404


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({}, "The critical criterion is met: Criterion C3."),
        ({}, "Outcome O1 reaches at least 50 %."),
        ({}, "The overall score reaches at least 70 %; on it is met."),
        ({}, "One assessor scores."),
        ({"band": "0.05"}, "An overall score from 65 % up to below 75 % is undecided"),
        ({"assessors": {"required": 2, "combine": "lower"}}, "2 assessors score independently."),
        ({"guard_band": "not_met"}, "A measurement within its guard band counts as not met."),
    ],
)
def test_the_pass_rule_in_sentences(changes: dict[str, object], says: str) -> None:
    program = Program(code="P-1", version=1, title="Dutchman repair")
    document = standard_document(program, pass_rule={**ONE_ASSESSOR, **changes})
    assert says in " ".join(pass_rule_sentences(document))


def test_parts_that_do_not_decide_are_not_said() -> None:
    program = Program(code="P-1", version=1, title="Dutchman repair")
    rule = {**ONE_ASSESSOR, "critical": False, "outcome_minima": False}
    said = " ".join(pass_rule_sentences(standard_document(program, pass_rule=rule)))
    assert "critical" not in said
    assert "Outcome" not in said
