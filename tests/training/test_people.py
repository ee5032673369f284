"""Roles, organisations, employers and password links."""

from datetime import date, timedelta

import pytest
from django.contrib.auth.tokens import default_token_generator
from django.core.exceptions import PermissionDenied
from django.utils import timezone

from tests.factories import enrol, make_person
from tests.training.yard import Yard
from training.actions.passwords import make_password_link, set_password
from training.actions.people import add_organisation, add_person, change_employer, take_role
from training.errors import Refused
from training.models import Employment, LogEntry, Person, Role
from training.queries.scope import crew_visible_to


def test_give_a_role_to_somebody_new(yard: Yard) -> None:
    person = add_person(
        actor=yard.lead,
        full_name="Imani Castellane",
        email="Imani@example.org",
        role="instructor",
        organisation=yard.provider,
    )
    assert person.email == "imani@example.org"
    assert Role.objects.get(person=person).kind == "instructor"
    assert LogEntry.objects.get().data == {
        "role": "instructor",
        "organisation": yard.provider.pk,
    }


def test_a_role_is_held_once_and_by_the_name_that_is_known(yard: Yard) -> None:
    given = {
        "actor": yard.lead,
        "email": yard.teacher.email,
        "role": "instructor",
        "organisation": yard.provider,
    }
    with pytest.raises(Refused) as refused:
        add_person(full_name=yard.teacher.full_name, **given)  # type: ignore[arg-type]
    assert refused.value.field == "role"
    with pytest.raises(Refused) as refused:
        add_person(full_name="Someone Else", **given)  # type: ignore[arg-type]
    assert refused.value.field == "full_name"


@pytest.mark.parametrize(("role", "at"), [("lead", "firm"), ("contractor", "provider")])
def test_a_role_belongs_to_a_kind_of_organisation(yard: Yard, role: str, at: str) -> None:
    with pytest.raises(Refused) as refused:
        add_person(
            actor=None,
            full_name="Ada Stone",
            email="ada@example.org",
            role=role,
            organisation=getattr(yard, at),
        )
    assert refused.value.field == "organisation"


@pytest.mark.parametrize("who", ["teacher", "manager", "trainee", "foreign lead"])
def test_only_an_own_lead_gives_and_takes_roles(yard: Yard, other_yard: Yard, who: str) -> None:
    actor = other_yard.lead if who == "foreign lead" else getattr(yard, who)
    with pytest.raises(PermissionDenied):
        add_person(
            actor=actor,
            full_name="Ada Stone",
            email="ada@example.org",
            role="lead",
            organisation=yard.provider,
        )
    with pytest.raises(PermissionDenied):
        take_role(actor=actor, role=Role.objects.get(person=yard.teacher))
    assert not Person.objects.filter(email="ada@example.org").exists()


def test_take_a_role(yard: Yard) -> None:
    take_role(actor=yard.lead, role=Role.objects.get(person=yard.teacher))
    assert not Role.objects.filter(person=yard.teacher).exists()
    row = LogEntry.objects.get()
    assert (row.verb, row.subject_id) == ("role.taken", str(yard.teacher.pk))


def test_a_lead_keeps_the_own_role(yard: Yard) -> None:
    with pytest.raises(Refused, match="another lead"):
        take_role(actor=yard.lead, role=Role.objects.get(person=yard.lead))


def test_add_an_organisation(yard: Yard) -> None:
    firm = add_organisation(actor=yard.lead, kind="contractor", name=" Northing  Masonry Ltd ")
    assert firm.name == "Northing Masonry Ltd"
    with pytest.raises(Refused) as refused:
        add_organisation(actor=yard.lead, kind="contractor", name="NORTHING masonry ltd")
    assert refused.value.field == "name"
    assert LogEntry.objects.get().verb == "organisation.added"


def test_a_provider_is_not_added_by_a_lead(yard: Yard) -> None:
    with pytest.raises(PermissionDenied):
        add_organisation(actor=yard.lead, kind="provider", name="Another Yard")
    with pytest.raises(PermissionDenied):
        add_organisation(actor=yard.teacher, kind="contractor", name="Another Firm")
    assert add_organisation(actor=None, kind="provider", name="Another Yard").pk


def test_change_the_employer(yard: Yard) -> None:
    since = timezone.localdate() - timedelta(3)
    change_employer(actor=yard.lead, person=yard.trainee, employer=yard.other_firm, since=since)
    old, new = Employment.objects.filter(person=yard.trainee).order_by("since")
    assert (old.organisation, old.until) == (yard.firm, since - timedelta(1))
    assert (new.organisation, new.since, new.until) == (yard.other_firm, since, None)
    assert not crew_visible_to(yard.manager).exists()
    assert LogEntry.objects.get().verb == "employer.changed"


def test_end_the_employment(yard: Yard) -> None:
    change_employer(actor=yard.lead, person=yard.trainee, employer=None, since=timezone.localdate())
    assert not Employment.objects.filter(person=yard.trainee, until__isnull=True).exists()


@pytest.mark.parametrize(
    ("employer", "since", "field"),
    [
        ("firm", date(2025, 1, 6), "employer"),
        ("provider", date(2025, 1, 6), "employer"),
        ("other_firm", date(2024, 3, 1), "since"),
        ("other_firm", date(2023, 1, 1), "since"),
        ("other_firm", date(9999, 12, 31), "since"),
    ],
)
def test_a_change_of_employer_that_cannot_be(
    yard: Yard, employer: str, since: date, field: str
) -> None:
    with pytest.raises(Refused) as refused:
        change_employer(
            actor=yard.lead, person=yard.trainee, employer=getattr(yard, employer), since=since
        )
    assert refused.value.field == field
    assert Employment.objects.get(person=yard.trainee).until is None


def test_an_employer_is_changed_by_an_own_lead_only(yard: Yard, other_yard: Yard) -> None:
    for actor in (yard.teacher, yard.manager, yard.trainee, other_yard.lead):
        with pytest.raises(PermissionDenied):
            change_employer(
                actor=actor, person=yard.trainee, employer=None, since=timezone.localdate()
            )


def test_a_link_sets_a_password_once(yard: Yard) -> None:
    person = make_person()
    person.set_unusable_password()
    person.save()
    enrol(yard.run, person)
    token = make_password_link(actor=yard.lead, person=person)["token"]
    assert default_token_generator.check_token(person, token)
    set_password(person=person, password="a dry fit before the mortar")
    assert person.check_password("a dry fit before the mortar")
    assert not default_token_generator.check_token(person, token)
    verbs = list(LogEntry.objects.values_list("verb", flat=True))
    assert verbs == ["password.link_made", "password.set"]
    assert "dry fit" not in str(list(LogEntry.objects.values("data")))


def test_a_lead_makes_links_for_own_trainees_and_instructors(yard: Yard) -> None:
    for person in (yard.trainee, yard.teacher):
        assert make_password_link(actor=yard.lead, person=person)["token"]


@pytest.mark.parametrize("case", ["lead", "manager", "elsewhere", "other role"])
def test_a_lead_cannot_become_somebody_beyond_the_provider(
    yard: Yard, other_yard: Yard, case: str
) -> None:
    person = {"lead": yard.lead, "manager": yard.manager}.get(case, yard.trainee)
    if case == "elsewhere":
        enrol(other_yard.run, person)
    if case == "other role":
        Role.objects.create(person=person, organisation=yard.firm, kind="contractor")
    with pytest.raises(Refused, match="password_link"):
        make_password_link(actor=yard.lead, person=person)
    assert make_password_link(actor=None, person=person)["token"]


def test_links_are_made_by_a_lead_who_looks_after_the_person(yard: Yard, other_yard: Yard) -> None:
    for actor in (yard.teacher, yard.manager, yard.trainee, other_yard.lead):
        with pytest.raises(PermissionDenied):
            make_password_link(actor=actor, person=yard.trainee)
