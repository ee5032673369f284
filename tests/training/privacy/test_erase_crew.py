"""A submittal goes on telling what it told, with a pseudonym; refusals of an erasure."""

import json
import re
from datetime import timedelta
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied
from django.db import DatabaseError, transaction
from django.test import Client
from django.urls import reverse

from certificates.models import Record, Submittal
from tests.assessments.builders import make_yard
from tests.certificates.builders import decide_attempt, record_row
from tests.certificates.crew.coverage.builders import set_clock
from tests.certificates.crew.owner.builders import NOON, TODAY, Chapel, chapel
from tests.factories import make_organisation, make_person, make_role
from tests.training.privacy.test_erase import told
from tests.training.privacy.world import NAME, rename
from training.actions.erasure import erase_person
from training.actions.runs import close_run
from training.errors import Refused
from training.models import CourseRun, Employment, Erasure, Person, Role


@pytest.fixture
def site(db: None, monkeypatch: pytest.MonkeyPatch) -> Chapel:
    """Return a project with a crew; Ana has the name that is looked for. It is January 2027."""
    set_clock(monkeypatch, NOON)
    made = chapel()
    rename(made.ana)
    CourseRun.objects.update(state=CourseRun.State.CLOSED)
    return made


def lead_of(person: Person) -> Person:
    """Return a lead of the provider whose run the person was on."""
    provider = person.enrolments.get().run.program.provider
    role = provider.roles.filter(kind=Role.Kind.LEAD).select_related("person").first()
    assert role
    return role.person


def erase(person: Person, **changes: Any) -> Erasure:
    """Erase the person as a lead would."""
    values: dict[str, Any] = {
        "typed_name": person.full_name,
        "reason": "Asked for it by letter.",
        "in_writing": True,
    }
    if "actor" not in changes:
        values["actor"] = lead_of(person)
    return erase_person(person=person, **{**values, **changes})


def test_a_submittal_tells_the_same_with_a_pseudonym(site: Chapel, client: Client) -> None:
    submittal = site.submit()
    before = submittal.document
    Employment.objects.filter(person=site.ana).update(until=TODAY - timedelta(days=1))
    erasure = erase(site.ana)
    assert told() == {}
    submittal.refresh_from_db()
    assert submittal.pdf.name == "erased"
    assert submittal.document == _renamed(before, erasure.pseudonym)
    client.force_login(site.manager)
    for name in ("project", "submittals", "owner_view", "project_coverage"):
        page = client.get(reverse(name, args=[site.project.pk]))
        assert (name, page.status_code) == (name, 200)
    assert client.get(reverse("submittal_pdf", args=[submittal.pk])).status_code == 503
    packed = b"".join(client.get(reverse("submittal_zip", args=[submittal.pk])).streaming_content)  # type: ignore[attr-defined]
    assert b"MISSING.txt" in packed
    assert client.get(reverse("crew")).status_code == 200


def _renamed(document: Any, pseudonym: str) -> Any:
    """Return the submittal as it should be: nothing but Ana's name differs."""
    told = json.dumps(document, ensure_ascii=False)
    places = [told[max(0, at.start() - 60) : at.end()] for at in re.finditer(NAME, told)]
    assert len(places) > 1, places
    return json.loads(told.replace(NAME, pseudonym))


def test_nothing_more_than_the_erasure_allows_can_be_changed(site: Chapel) -> None:
    submittal, record = site.submit(), site.records["Ana"]
    for row, values in (
        (submittal, {"document": {"posts": []}}),
        (record, {"document": {"erased": "Person 0000"}}),
        (record, {"pdf": "erased"}),
    ):
        with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
            type(row)._default_manager.filter(pk=row.pk).update(**values)
    Employment.objects.update(until=TODAY - timedelta(days=1))
    erasure = erase(site.ana)
    number, other = {"number": "0000-0000-0000-0000"}, site.records["Ben"]
    for changed, values in ((record, number), (other, {"document": {"erased": "x"}})):
        with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
            Record.objects.filter(pk=changed.pk).update(**values)
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
        Submittal.objects.filter(pk=submittal.pk)._raw_delete("default")
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
        Erasure.objects.filter(pk=erasure.pk)._raw_delete("default")


def test_what_stands_in_the_way_is_said(site: Chapel) -> None:
    with pytest.raises(Refused, match="employment at"):
        erase(site.ana)
    Employment.objects.update(until=TODAY - timedelta(days=1))
    CourseRun.objects.update(state=CourseRun.State.OPEN)
    with pytest.raises(Refused, match="is not closed"):
        erase(site.ana)
    CourseRun.objects.update(state=CourseRun.State.CLOSED)
    with pytest.raises(Refused, match=f"Record {site.records['Ana'].number} holds"):
        erase(site.ana, in_writing=False)
    for field, changes in (
        ("typed_name", {"typed_name": "Ana Sorley"}),
        ("reason", {"reason": "wish"}),
        ("reason", {"reason": f"{site.ana.full_name} asked for it."}),
    ):
        with pytest.raises(Refused) as refused:
            erase(site.ana, **changes)
        assert refused.value.field == field
    assert not Erasure.objects.exists()
    erase(site.ana)
    with pytest.raises(Refused, match="erased already"):
        erase(site.ana, typed_name=Person.objects.get(pk=site.ana.pk).full_name)


def test_an_open_attempt_stands_in_the_way(db: None) -> None:
    yard = make_yard()
    attempt = yard.attempt()
    close_run(actor=yard.lead, run=yard.run)
    with pytest.raises(Refused, match="is open: let it be decided"):
        erase(yard.trainee, actor=yard.lead)
    record_row(decide_attempt(attempt, yard.instructor))
    erase(yard.trainee, actor=yard.lead)
    with pytest.raises(DatabaseError, match="erased"), transaction.atomic():
        record_row(decide_attempt(attempt, yard.instructor, replaces=attempt.decisions.get()))


def test_only_a_lead_of_every_provider_that_knows_the_person_erases(site: Chapel) -> None:
    Employment.objects.update(until=TODAY - timedelta(days=1))
    lead = lead_of(site.ana)
    for actor in (site.ana, site.manager, make_person(), lead_of(site.ben)):
        with pytest.raises(PermissionDenied):
            erase(site.ana, actor=actor)
    with pytest.raises(PermissionDenied, match="own person"):
        erase(lead, actor=lead)
    Role.objects.create(person=site.ana, organisation=make_organisation(), kind="instructor")
    with pytest.raises(PermissionDenied, match="knows this person too"):
        erase(site.ana)
    assert make_role("lead", make_organisation()).is_active
