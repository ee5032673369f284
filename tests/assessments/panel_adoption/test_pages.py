"""The pages from recommendation to adoption, and who may see them."""

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from assessments.actions.panel.adoption import adopt
from assessments.models import Adoption, Panel
from tests.assessments.panel_adoption.world import (
    ADOPTED,
    World,
    make_panel,
    make_world,
)
from tests.factories import enrol, make_organisation, make_person, make_role, make_run
from training.models import Person, Role

pytestmark = pytest.mark.django_db
FORM: dict[str, Any] = {
    "cut": "73.67 %",
    "band": "5 %",
    "minimum_O1": "50 %",
    "minimum_O2": "",
    "critical": ["wet"],
    "reason": "",
}


@pytest.fixture
def world() -> World:
    return make_world()


def browser(person: Person) -> Client:
    client = Client()
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    return client


def address(name: str, panel: Panel, *more: str) -> str:
    return reverse(name, args=[panel.pk, *more])


def text_of(response: Any) -> str:
    return " ".join(response.content.decode().split())


def test_the_recommendation_is_shown_with_what_it_rests_on(world: World) -> None:
    response = browser(world.lead).get(address("panel_recommendation", world.panel))
    assert response.status_code == 200
    shown = text_of(response)
    assert "<dt>Recommended cut</dt><dd>73.67 %</dd>" in shown
    assert "<dt>Standard error</dt><dd>2.31 %</dd>" in shown
    assert "Use it before anybody has been assessed" in shown
    assert "From round to round" in shown
    assert "Works alone on a plain ledge" in shown
    assert "Not asked of this panel." in shown
    assert shown.count("<svg") >= 1
    assert "style=" not in shown
    assert "Judge A" in shown
    assert "Judge number" not in shown  # letters, no names
    assert address("panel_adopt", world.panel) in shown


def test_before_a_round_is_closed_there_is_none(world: World) -> None:
    Panel.objects.update(state="abandoned", ended_because="Begun anew")
    panel = make_panel(world.program, world.lead)
    shown = text_of(browser(world.lead).get(address("panel_recommendation", panel)))
    assert "<dt>Recommended cut</dt><dd>None</dd>" in shown
    assert "No round that counts is closed yet" in shown
    assert address("panel_adopt", panel) not in shown


def test_the_form_begins_with_the_recommendation(world: World) -> None:
    response = browser(world.lead).get(address("panel_adopt", world.panel))
    form = response.context["form"]
    assert form["cut"].value() == "73.67 %"
    # Student's t for 95 % and 4 degrees of freedom is 2.776 (any table of t): 2.776 x 2.307 %.
    assert form["band"].value() == "6.4 %"
    assert form["minimum_O1"].value() == "50 %"
    assert form["minimum_O2"].value() == ""
    assert form["critical"].value() == ["wet"]
    assert "For information" not in text_of(response)  # nobody was assessed before


def test_adopting_goes_on_to_the_draft(world: World) -> None:
    response = browser(world.lead).post(address("panel_adopt", world.panel), FORM)
    assert response.status_code == 302
    assert response["Location"] == reverse("standard", args=[world.program.pk])
    assert Adoption.objects.get(panel=world.panel).adopted_cut == "0.7367"
    again = browser(world.lead).get(address("panel_adopt", world.panel), follow=True)
    assert "a recommendation is adopted once" in text_of(again)
    assert "This recommendation is adopted: the cut is 73.67 %" in text_of(again)


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"cut": "much"}, "cut"),
        ({"cut": ""}, "cut"),
        ({"cut": "80 %"}, "reason"),
        ({"band": "40 %"}, "band"),
        ({"minimum_O2": "some"}, "minimum_O2"),
        ({"critical": []}, "critical"),
        ({"critical": ["wet", "none_such"]}, "critical"),
    ],
)
def test_what_is_wrong_is_said_at_its_field_and_nothing_is_lost(
    world: World, changes: dict[str, Any], field: str
) -> None:
    sent = {**FORM, "minimum_O1": "2/3", **changes}
    response = browser(world.lead).post(address("panel_adopt", world.panel), sent)
    assert response.status_code == 422
    form = response.context["form"]
    assert list(form.errors) == [field]
    for name, value in sent.items():
        assert form[name].value() == value
    assert f'href="#id_{field}' in text_of(response)
    assert not Adoption.objects.exists()


def test_who_sees_the_pages(world: World) -> None:
    adopt(actor=world.lead, panel=world.panel, **ADOPTED)
    teacher = make_role(Role.Kind.INSTRUCTOR, world.provider)
    trainee = make_person()
    enrol(make_run(world.program, instructors=(teacher,)), trainee)
    others = [
        teacher,
        trainee,
        world.judges[0].person,
        make_role(Role.Kind.CONTRACTOR, world.provider),
        make_role(Role.Kind.LEAD, make_organisation()),
    ]
    addresses = [
        address("panel_recommendation", world.panel),
        address("panel_adopt", world.panel),
        address("panel_report", world.panel),
        address("panel_ratings", world.panel, "csv"),
        address("panel_ratings", world.panel, "xlsx"),
    ]
    for place in addresses:
        assert browser(world.lead).get(place).status_code in (200, 302), place
        for person in others:
            assert browser(person).get(place).status_code == 404, place
    post = address("panel_adopt", world.panel)
    assert [browser(person).post(post, FORM).status_code for person in others] == [404] * 5
    assert browser(world.lead).get(address("panel_ratings", world.panel, "ods")).status_code == 404


def test_a_lead_who_judged_is_told_why_it_cannot_be(world: World) -> None:
    judge = world.judges[0].person
    Role.objects.create(person=judge, organisation=world.provider, kind=Role.Kind.LEAD)
    response = browser(judge).post(address("panel_adopt", world.panel), FORM)
    assert response.status_code == 422
    assert "Who judged does not adopt" in text_of(response)
    assert not Adoption.objects.exists()
