"""Who sees which record, of the own organisation and of others."""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from certificates.models import Record
from certificates.queries.scope import records_visible_to
from tests.assessments.builders import Yard, make_yard
from tests.certificates.builders import met_decision, record_row
from tests.factories import make_organisation, make_person, make_role
from training.models import Employment, Person


@pytest.fixture
def yard(db: None) -> Yard:
    """Return a yard whose trainee holds a record."""
    return make_yard()


@pytest.fixture
def record(yard: Yard) -> Record:
    """Return the record of the yard's trainee."""
    return record_row(met_decision(yard))


@pytest.fixture
def people(yard: Yard, record: Record) -> dict[str, Person]:
    """Return one person of each kind, of the own organisations and of others."""
    other = make_yard()
    record_row(met_decision(other))
    firm, other_firm = make_organisation("contractor"), make_organisation("contractor")
    Employment.objects.create(person=yard.trainee, organisation=firm, since="2024-03-01")
    return {
        "lead": yard.lead,
        "instructor": yard.instructor,
        "instructor of another run": make_role("instructor", yard.provider),
        "holder": yard.trainee,
        "manager": make_role("contractor", firm),
        "other lead": other.lead,
        "other instructor": other.instructor,
        "other holder": other.trainee,
        "other manager": make_role("contractor", other_firm),
        "stranger": make_person(),
    }


SEE_IT = ("lead", "instructor", "holder", "manager")
OTHERS = (
    "instructor of another run",
    "other lead",
    "other instructor",
    "other holder",
    "other manager",
    "stranger",
)


@pytest.mark.parametrize("who", [*SEE_IT, *OTHERS])
def test_who_sees_a_record(
    people: dict[str, Person], record: Record, client: Client, who: str
) -> None:
    sees = who in SEE_IT
    assert (record in records_visible_to(people[who])) is sees
    client.force_login(people[who])
    page = client.get(reverse("record_list"))
    assert page.status_code == 200
    assert (record.number in page.text) is sees
    pdf = client.get(reverse("record_pdf", args=[record.number]))
    assert pdf.status_code == (200 if sees else 404)


def test_without_signing_in_nobody_gets_the_file(client: Client, record: Record) -> None:
    address = reverse("record_pdf", args=[record.number])
    response = client.get(address)
    assert response.status_code == 302
    assert response["Location"].startswith(reverse("sign_in"))


def days(since: int, until: int | None) -> dict[str, object]:
    """Return the days of an employment, counted from today."""
    today = timezone.localdate()
    return {
        "since": today + timedelta(days=since),
        "until": None if until is None else today + timedelta(days=until),
    }


@pytest.mark.parametrize(
    ("since", "until", "seen"),
    [(-9, None, True), (-9, 0, True), (-9, -1, False), (1, None, False)],
)
def test_a_manager_sees_records_only_while_the_employment_lasts(
    yard: Yard, record: Record, client: Client, since: int, until: int | None, seen: bool
) -> None:
    firm = make_organisation("contractor")
    Employment.objects.create(person=yard.trainee, organisation=firm, **days(since, until))
    manager = make_role("contractor", firm)
    assert (record in records_visible_to(manager)) is seen
    client.force_login(manager)
    crew = client.get(reverse("crew")).text
    assert (yard.trainee.full_name in crew) is seen
    assert (record.number in crew) is seen
    status = client.get(reverse("record_pdf", args=[record.number])).status_code
    assert status == (200 if seen else 404)
