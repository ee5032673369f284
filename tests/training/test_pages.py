"""The pages: who may open which, what they show, and how many queries that takes."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from tests.factories import enrol, make_organisation, make_person, make_program, make_run
from tests.training.yard import Yard
from training.models import (
    CourseRun,
    Employment,
    Enrolment,
    Module,
    Organisation,
    Outcome,
    Person,
    Role,
    Site,
)

PEOPLE = ("lead", "teacher", "trainee", "manager", "stranger", "foreign lead")
OPEN: dict[str, tuple[int, ...]] = {
    # one status for each of PEOPLE
    "/": (200, 200, 200, 200, 200, 200),
    "/programs/": (200, 200, 200, 200, 200, 200),
    "/programs/{program}/": (200, 200, 200, 404, 404, 404),
    "/runs/": (200, 200, 200, 200, 200, 200),
    "/runs/new/": (200, 403, 403, 403, 403, 200),
    "/sites/new/": (200, 403, 403, 403, 403, 200),
    "/runs/{run}/enrol/": (200, 403, 404, 404, 404, 404),
    "/runs/{run}/enrol-list/": (200, 403, 404, 404, 404, 404),
    "/runs/{run}/instructors/": (200, 403, 404, 404, 404, 404),
    "/people/": (200, 403, 403, 403, 403, 200),
    "/people/new/": (200, 403, 403, 403, 403, 200),
    "/people/{trainee}/": (200, 404, 404, 404, 404, 404),
    "/organisations/new/": (200, 403, 403, 403, 403, 200),
    "/password/": (200, 200, 200, 200, 200, 200),
}
POST: dict[str, tuple[int, ...]] = {
    "/runs/{run}/open/": (302, 403, 404, 404, 404, 404),
    "/runs/{run}/close/": (302, 403, 404, 404, 404, 404),
    "/runs/{run}/enrol/": (422, 403, 404, 404, 404, 404),
    "/runs/{run}/enrol-list/": (422, 403, 404, 404, 404, 404),
    "/runs/{run}/instructors/": (422, 403, 404, 404, 404, 404),
    "/enrolments/{enrolment}/withdraw/": (302, 403, 403, 404, 404, 404),
    "/people/{trainee}/password-link/": (200, 404, 404, 404, 404, 404),
    "/people/{teacher}/roles/{role}/take/": (302, 404, 404, 404, 404, 404),
    "/runs/new/": (422, 403, 403, 403, 403, 422),
    "/people/new/": (422, 403, 403, 403, 403, 422),
}


def filled(yard: Yard, path: str) -> str:
    """Return the path with the yard's own ids."""
    return path.format(
        program=yard.program.pk,
        run=yard.run.pk,
        trainee=yard.trainee.pk,
        teacher=yard.teacher.pk,
        enrolment=yard.enrolment.pk,
        role=Role.objects.get(person=yard.teacher).pk,
    )


def signed_in(person: Person) -> Client:
    """Return a client that the person has signed in with."""
    client = Client()
    client.force_login(person)
    return client


@pytest.mark.parametrize("path", OPEN)
def test_who_may_open_a_page(yard: Yard, other_yard: Yard, path: str) -> None:
    for who, status in zip(PEOPLE, OPEN[path], strict=True):
        person = other_yard.lead if who == "foreign lead" else getattr(yard, who)
        assert signed_in(person).get(filled(yard, path)).status_code == status, who


@pytest.mark.parametrize("path", POST)
def test_who_may_send_a_form(yard: Yard, other_yard: Yard, path: str) -> None:
    for who, status in reversed(list(zip(PEOPLE, POST[path], strict=True))):
        person = other_yard.lead if who == "foreign lead" else getattr(yard, who)
        assert signed_in(person).post(filled(yard, path)).status_code == status, who


@pytest.mark.parametrize("path", [*OPEN, *POST])
def test_nobody_gets_past_the_sign_in(yard: Yard, path: str) -> None:
    if path == "/":
        assert "Check a record" in Client().get(path).content.decode()
        return
    for send in (Client().get, Client().post):
        assert send(filled(yard, path))["Location"].startswith("/sign-in/?next=")


@pytest.mark.parametrize("path", [path for path in POST if path not in OPEN])
def test_buttons_are_sent_not_opened(yard: Yard, path: str) -> None:
    assert signed_in(yard.lead).get(filled(yard, path)).status_code == 405


@pytest.mark.parametrize(
    "path", ["/people/99999999999999999999/", "/people/0/", "/runs/x/enrol/", "/programs/1/"]
)
def test_addresses_of_nothing(yard: Yard, path: str) -> None:
    assert signed_in(yard.lead).get(path).status_code == 404


def more_runs(yard: Yard) -> None:
    run = make_run(yard.program, instructors=(yard.teacher,))
    enrol(run, yard.trainee, yard.firm)


def more_programs(yard: Yard) -> None:
    program = make_program(yard.provider)
    make_run(program, instructors=(yard.teacher,))


def more_parts(yard: Yard) -> None:
    number = yard.program.modules.count() + 1
    outcome = Outcome.objects.create(
        program=yard.program, position=number, key=f"O{number}", statement="Fit the piece"
    )
    Module.objects.create(
        program=yard.program, position=number, key=f"M{number}", kind="lecture", minutes=30
    ).outcomes.set([outcome])


def more_people(yard: Yard) -> None:
    person = make_person()
    Role.objects.create(person=person, organisation=yard.provider, kind="instructor")
    Employment.objects.create(person=person, organisation=yard.firm, since="2025-01-01")
    make_organisation("contractor")


LISTS: dict[str, tuple[str, Callable[[Yard], None]]] = {
    "/": ("lead", more_runs),
    "/?": ("teacher", more_runs),
    "/??": ("trainee", more_runs),
    "/???": ("lead", more_programs),
    "/runs/": ("lead", more_runs),
    "/runs/?state=open": ("teacher", more_runs),
    "/programs/": ("teacher", more_programs),
    "/programs/{program}/": ("lead", more_parts),
    "/people/": ("lead", more_people),
    "/people/{trainee}/": ("lead", more_runs),
}


@pytest.mark.parametrize("path", LISTS)
def test_a_longer_list_takes_no_more_queries(yard: Yard, path: str) -> None:
    who, more = LISTS[path]
    more(yard)
    counts = []
    for rows in (1, 3):
        if rows == 3:
            more(yard)
            more(yard)
        client = signed_in(getattr(yard, who))
        with CaptureQueriesContext(connection) as queries:
            assert client.get(filled(yard, path)).status_code == 200
        counts.append(len(queries))
    assert counts[0] == counts[1]


def test_the_first_page_tells_what_is_next(yard: Yard) -> None:
    today = timezone.localdate()
    CourseRun.objects.filter(pk=yard.run.pk).update(starts_on=today, ends_on=today)
    CourseRun.objects.filter(pk=yard.other_run.pk).update(
        starts_on=today - timedelta(9), ends_on=today - timedelta(1)
    )
    make_run(
        yard.program, instructors=(yard.teacher,), state="planned", starts_on=today, ends_on=today
    )
    make_program(yard.provider, title="Repointing", code="REPOINT")
    lead = signed_in(yard.lead).get("/").content.decode()
    for said in ("Enrol trainees on", "Close Dutchman", "Open Dutchman", "Plan a run of Repoint"):
        assert said in lead
    assert "Today:" not in lead
    teacher = signed_in(yard.teacher).get("/").content.decode()
    assert "Today: Dutchman repair" in teacher
    assert "1 trainee." in teacher
    assert "Close Dutchman" not in teacher
    assert yard.run.site.name in signed_in(yard.trainee).get("/").content.decode()
    assert "See the crew" in signed_in(yard.manager).get("/").content.decode()
    assert "You have no role yet" in signed_in(yard.stranger).get("/").content.decode()


@pytest.mark.parametrize(
    ("first", "last", "today"),
    [(0, 0, True), (-2, 0, True), (0, 2, True), (-2, -1, False), (1, 2, False)],
)
def test_an_instructor_is_told_what_is_on_today(
    yard: Yard, first: int, last: int, today: bool
) -> None:
    day = timezone.localdate()
    CourseRun.objects.update(starts_on=day + timedelta(first), ends_on=day + timedelta(last))
    assert ("Today: " in signed_in(yard.teacher).get("/").content.decode()) is today


def test_only_the_latest_version_of_a_program_is_to_be_run(yard: Yard) -> None:
    for version in (1, 2):
        make_program(yard.provider, title="Repointing", code="REPOINT", version=version)
    page = signed_in(yard.lead).get("/").content.decode()
    assert "REPOINT, version 2, has not been run yet." in page
    assert "REPOINT, version 1" not in page


def test_plan_a_run_by_its_form(yard: Yard) -> None:
    values = {
        "program": str(yard.program.pk),
        "site": str(yard.run.site.pk),
        "starts_on": "2026-11-09",
        "ends_on": "2026-11-08",
        "instructors": [str(yard.teacher.pk)],
    }
    client = signed_in(yard.lead)
    refused = client.post("/runs/new/", values)
    page = refused.content.decode()
    assert refused.status_code == 422
    assert page.count("The last day is before the first") == 2
    assert 'value="2026-11-09"' in page  # what was typed is kept
    assert refused.context["form"]["instructors"].value() == [str(yard.teacher.pk)]
    done = client.post("/runs/new/", {**values, "ends_on": "2026-11-10"})
    run = CourseRun.objects.latest("starts_on")
    assert done["Location"] == f"/runs/{run.pk}/enrol-list/"


def test_a_form_offers_only_what_is_the_leads_own(yard: Yard, other_yard: Yard) -> None:
    answer = signed_in(yard.lead).post(
        "/runs/new/",
        {
            "program": str(other_yard.program.pk),
            "site": str(other_yard.run.site.pk),
            "starts_on": "2026-11-09",
            "ends_on": "2026-11-09",
            "instructors": [str(other_yard.teacher.pk)],
        },
    )
    assert answer.status_code == 422
    assert set(answer.context["form"].errors) == {"program", "site", "instructors"}


def test_add_a_site_by_its_form(yard: Yard) -> None:
    values = {"provider": yard.provider.pk, "name": "Mill", "time_zone": "Europe/London"}
    done = signed_in(yard.lead).post("/sites/new/", values)
    assert done["Location"] == f"/runs/new/?site={Site.objects.get(name='Mill').pk}"
    again = signed_in(yard.lead).post("/sites/new/", values)
    assert "has a site of this name" in again.content.decode()


def test_enrol_one_by_the_form(yard: Yard) -> None:
    client = signed_in(yard.lead)
    path = f"/runs/{yard.run.pk}/enrol/"
    refused = client.post(path, {"full_name": "X Y", "email": yard.trainee.email})
    assert refused.status_code == 422
    assert set(refused.context["form"].errors) == {"full_name"}
    done = client.post(path, {"full_name": "Ada Stone", "email": "ada@example.org"})
    assert done["Location"] == f"/runs/{yard.run.pk}/"
    assert Enrolment.objects.filter(person__email="ada@example.org").exists()


def test_add_an_instructor_by_the_form(yard: Yard) -> None:
    client = signed_in(yard.lead)
    path = f"/runs/{yard.run.pk}/instructors/"
    assert client.post(path, {"person": yard.teacher.pk}).status_code == 422
    assert client.post(path, {"person": yard.other_teacher.pk}).status_code == 302
    assert yard.other_teacher in yard.run.instructors.all()


def test_people_are_found_by_name_or_address(yard: Yard) -> None:
    client = signed_in(yard.lead)
    for search in ("felső", yard.trainee.email.upper(), " Aranka "):
        page = client.get("/people/", {"search": search}).content.decode()
        assert yard.trainee.full_name in page
        assert yard.teacher.email not in page
    assert "Nobody is found" in client.get("/people/", {"search": "a\x00b%"}).content.decode()


def test_a_role_an_organisation_and_an_employer_by_their_forms(yard: Yard) -> None:
    client = signed_in(yard.lead)
    assert client.post("/organisations/new/", {"kind": "contractor", "name": "Kerb"}).status_code
    firm = Organisation.objects.get(name="Kerb")
    values = {"full_name": "Ada", "email": "ada@example.org", "role": "contractor"}
    done = client.post("/people/new/", {**values, "organisation": firm.pk})
    ada = Person.objects.get(email="ada@example.org")
    assert done["Location"] == f"/people/{ada.pk}/"
    change = {"employer": str(firm.pk), "since": timezone.localdate().isoformat()}
    assert client.post(f"/people/{yard.trainee.pk}/", change).status_code == 302
    again = client.post(f"/people/{yard.trainee.pk}/", change)
    assert again.status_code == 422
    assert "known already" in again.content.decode()


def test_a_link_is_shown_once(yard: Yard) -> None:
    client = signed_in(yard.lead)
    page = client.post(f"/people/{yard.trainee.pk}/password-link/")
    assert "http://testserver/password/" in page.content.decode()
    assert "no-store" in page["Cache-Control"]
    assert "/password/M" not in client.get(f"/people/{yard.trainee.pk}/").content.decode()
    other = client.post(f"/people/{yard.manager.pk}/password-link/", follow=True)
    assert "manage.py password_link" in other.content.decode()


@pytest.mark.parametrize(
    ("who", "labels"),
    [
        ("lead", ["Programs", "Runs", "People", "Reviews", "Records", "Check a record"]),
        ("teacher", ["Programs", "Runs", "My sessions", "Records", "Check a record"]),
        ("trainee", ["Programs", "My sessions", "My results", "My records", "Check a record"]),
        ("manager", ["Crew", "Projects", "Records", "Check a record"]),
        ("stranger", ["Check a record"]),
    ],
)
def test_the_navigation_shows_what_a_role_needs(yard: Yard, who: str, labels: list[str]) -> None:
    nav = signed_in(getattr(yard, who)).get("/programs/").context["nav"]
    assert [entry["label"] for entry in nav] == labels
    assert [entry["label"] for entry in nav if entry["current"]] == [
        label for label in labels if label == "Programs"
    ]
