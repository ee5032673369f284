"""What is sealed of a panel, what keeps a standard from being sealed, and what may not change."""

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from assessments.actions.attempts import start_attempt
from assessments.actions.panel.adoption import adopt
from assessments.actions.programs import load_program, load_program_file
from assessments.actions.sealing import NotReady, seal_standard
from assessments.engine.standard import load_standard
from assessments.models import Attempt, Criterion, Panel, PassRule, SealedStandard
from assessments.programfile.faults import ProgramFileError
from assessments.standard_document import standard_document
from tests.assessments.panel_adoption.world import ADOPTED, PROGRAM, World, make_panel, make_world
from tests.factories import enrol, make_organisation, make_person, make_role, make_run
from training.digests import digest
from training.errors import Refused
from training.models import Outcome, Person, Program, Role

pytestmark = pytest.mark.django_db


@pytest.fixture
def world() -> World:
    return make_world()


def sealed(world: World) -> SealedStandard:
    adopt(actor=world.lead, panel=world.panel, **ADOPTED)
    return seal_standard(actor=world.lead, program=world.program)


def page(person: Person, name: str, key: object) -> str:
    client = Client()
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    response = client.get(reverse(name, args=[key]))
    assert response.status_code == 200
    return " ".join(response.content.decode().split())


def test_the_worked_example_reaches_the_sealed_document(world: World) -> None:
    """4.42 of 6 is 73.67 %, its standard error 0.1384 of 6 is 2.31 %: see ANGOFF."""
    found = sealed(world)
    assert found.document["about"]["panel"] == {
        "id": str(world.panel.pk),
        "number": 1,
        "method": "angoff",
        "judges": 5,
        "rounds": 2,
        "recommended_cut": "0.7367",
        "standard_error": "0.0231",
        "adopted_cut": "0.7367",
        "band": "0.05",
        "reason": "",
        "digest": world.panel.adoption.digest,
    }
    assert found.document["pass_rule"]["cut"] == "0.7367"
    assert found.digest == digest(found.document)
    assert load_standard(found.document).digest == found.digest
    assert standard_document(world.program) == found.document


def test_nobody_is_named_in_the_standard(world: World) -> None:
    text = str(sealed(world).document)
    for person in [*(judge.person for judge in world.judges), world.lead]:
        assert person.full_name not in text


def test_the_pages_say_who_fixed_it(world: World) -> None:
    adopt(actor=world.lead, panel=world.panel, **{**ADOPTED, "cut": "75 %", "reason": "Guild."})
    draft = page(world.lead, "standard", world.program.pk)
    found = seal_standard(actor=world.lead, program=world.program)
    for shown in (draft, page(world.lead, "sealed_standard", found.pk)):
        assert "Panel 1, Modified Angoff" in shown
        assert "<dd>5, in 2 rounds</dd>" in shown
        assert "73.67 %" in shown
        assert "standard error 2.31 %" in shown
        assert "<dd>75 %" in shown
        assert "<p>Guild.</p>" in shown
        assert world.panel.adoption.digest in shown
        assert reverse("panel_report", args=[world.panel.pk]) in shown
    teacher = make_role(Role.Kind.INSTRUCTOR, world.provider)
    trainee = make_person()
    enrol(make_run(world.program, instructors=(teacher,)), trainee)
    for person in (teacher, trainee):
        shown = page(person, "sealed_standard", found.pk)
        assert "Panel 1, Modified Angoff" in shown
        assert reverse("panel_report", args=[world.panel.pk]) not in shown


def test_without_a_panel_the_page_says_so_plainly() -> None:
    provider = make_organisation()
    lead = make_role("lead", provider)
    program = load_program(actor=lead, provider=provider, source=PROGRAM, filename="ledge.yaml")
    alone = "No panel fixed this standard: the training lead alone did."
    assert alone in page(lead, "standard", program.pk)
    found = seal_standard(actor=lead, program=program)
    assert "panel" not in found.document["about"]
    assert alone in page(lead, "sealed_standard", found.pk)


@pytest.mark.parametrize("state", ["preparing", "judging", "judged"])
def test_no_seal_while_a_panel_is_at_work(state: str) -> None:
    provider = make_organisation()
    lead = make_role("lead", provider)
    program = load_program(actor=lead, provider=provider, source=PROGRAM, filename="ledge.yaml")
    make_panel(program, lead, state=state, judged_digest="" if state == "preparing" else "0" * 64)
    with pytest.raises(NotReady, match=rf"Panel 1 is still at work \({state}\): adopt its"):
        seal_standard(actor=lead, program=program)
    shown = page(lead, "standard", program.pk)
    assert "Panel 1 is still at work" in shown
    assert f"Panel 1 is at work on this draft ({state}): what stands here is not fixed" in shown
    assert "the training lead alone did" not in shown
    assert not SealedStandard.objects.exists()
    Panel.objects.update(state="abandoned", ended_because="Nobody came")
    assert seal_standard(actor=lead, program=program).serial == 1


def spoil_cut(program: Program) -> None:
    rule = PassRule.objects.get(program=program)
    PassRule.objects.filter(pk=rule.pk).update(document={**rule.document, "cut": "0.5"})


def spoil_band(program: Program) -> None:
    rule = PassRule.objects.get(program=program)
    PassRule.objects.filter(pk=rule.pk).update(document={**rule.document, "band": None})


SPOILT: dict[str, Callable[[Program], object]] = {
    "The cut in the draft is not the one adopted of panel 1": spoil_cut,
    "The band in the draft is not the one adopted of panel 1": spoil_band,
    "The minima of the outcomes are not those adopted of panel 1": lambda program: (
        Outcome.objects.filter(program=program).update(minimum="0.1")
    ),
    "The critical criteria are not those adopted of panel 1": lambda program: (
        Criterion.objects.filter(task__program=program, key="bed").update(critical=True)
    ),
    "The task or its criteria changed since the judges of panel 1 saw them": lambda program: (
        Criterion.objects.filter(task__program=program, key="bed").update(weight="2")
    ),
}


@pytest.mark.parametrize("said", SPOILT)
def test_no_seal_of_what_was_not_adopted(world: World, said: str) -> None:
    adopt(actor=world.lead, panel=world.panel, **ADOPTED)
    SPOILT[said](world.program)
    with pytest.raises(NotReady) as refused:
        seal_standard(actor=world.lead, program=world.program)
    (fault,) = refused.value.faults
    assert fault == f"{said}: have a new panel judge the criteria as they are now."
    assert not SealedStandard.objects.exists()


def test_an_equal_spelling_is_the_same_share(world: World) -> None:
    adopt(actor=world.lead, panel=world.panel, **ADOPTED)
    rule = PassRule.objects.get(program=world.program)
    PassRule.objects.update(document={**rule.document, "cut": "7367/10000", "band": "1/20"})
    assert seal_standard(actor=world.lead, program=world.program).serial == 1


def test_the_newest_adopted_panel_is_the_one_that_counts(world: World) -> None:
    first = sealed(world)
    abandoned = make_panel(
        world.program, world.lead, state="abandoned", ended_because="Nobody came"
    )
    assert abandoned.number == 2
    assert standard_document(world.program) == first.document


def refused_at_version(world: World, source: str) -> str:
    with pytest.raises(ProgramFileError) as error:
        load_program(
            actor=world.lead, provider=world.provider, source=source, filename="ledge.yaml"
        )
    (fault,) = error.value.faults
    assert fault.line == 3
    return fault.message


def test_nothing_is_loaded_under_a_panel(world: World) -> None:
    other = PROGRAM.replace("Bed full", "Bed quite full")
    assert refused_at_version(world, other) == (
        "panel 1 is at work on version 1, which must not change under it; write version: 2, or "
        "end the panel first"
    )
    # The same file once more changes nothing, and is no fault.
    again = load_program_file(
        actor=world.lead, provider=world.provider, source=PROGRAM, filename="ledge.yaml"
    )
    assert again.change == "unchanged"
    adopt(actor=world.lead, panel=world.panel, **ADOPTED)
    assert refused_at_version(world, other) == (
        "the passing standard of version 1 was adopted of panel 1 and stays as it is; "
        "write version: 2"
    )
    second = other.replace("version: 1", "version: 2")
    program = load_program(
        actor=world.lead, provider=world.provider, source=second, filename="ledge.yaml"
    )
    assert program.version == 2


def test_after_an_abandoned_panel_the_program_may_change(world: World) -> None:
    Panel.objects.update(state="abandoned", ended_because="Nobody came")
    other = PROGRAM.replace("Bed full", "Bed quite full")
    loaded = load_program_file(
        actor=world.lead, provider=world.provider, source=other, filename="ledge.yaml"
    )
    assert loaded.change == "replaced"


def test_a_standard_is_never_for_the_run_that_it_was_made_from() -> None:
    """The trigger attempt_not_of_source_run, in a sentence."""
    world = make_world()
    source, later = make_run(world.program), make_run(world.program)
    # The runs are chosen while a panel is prepared; here it is played back for a moment.
    Panel.objects.filter(pk=world.panel.pk).update(state="preparing")
    world.panel.sources.add(source)
    Panel.objects.filter(pk=world.panel.pk).update(state="judged")
    world.panel.refresh_from_db()
    sealed(world)
    first, second = enrol(source, make_person()), enrol(later, make_person())
    with pytest.raises(Refused, match="made from the scores of this very course run"):
        start_attempt(actor=world.lead, enrolment=first)
    assert not Attempt.objects.exists()
    assert start_attempt(actor=world.lead, enrolment=second).number == 1
