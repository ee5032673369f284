"""The page of one mason, for the employer alone."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from tests.certificates.crew.builders import (
    confirm,
    course,
    crew_member,
    days_ago,
    firm,
    record_for,
    take_back,
)
from training.models import Organisation, Person

pytestmark = pytest.mark.django_db


@pytest.fixture
def crew(client: Client) -> tuple[Organisation, Person, Person]:
    """Return a contractor, its manager (signed in) and a mason."""
    organisation, manager = firm("Fettle & Daughters")
    client.force_login(manager)
    return organisation, manager, crew_member(organisation, "Ilse Vantongeren")


def page(client: Client, person: Person, **query: str) -> str:
    """Return the mason's page."""
    answer = client.get(reverse("mason", args=[person.pk]), query)
    assert answer.status_code == 200
    return answer.text


def test_records_ranges_and_confirmations_are_told(
    crew: tuple[Organisation, Person, Person], client: Client
) -> None:
    organisation, manager, person = crew
    record = record_for(person, course(continuity=(6, 30)), valid_until=date(2030, 1, 31))
    confirm(record, days_ago(2), by=manager, project_name="Lantern of the town hall")
    taken = confirm(record, days_ago(1), organisation=organisation, by=manager)
    take_back(taken)
    text = page(client, person)
    assert "Employed by Fettle &amp; Daughters since 5 January 2026" in text
    assert "Sill and vertical face." in text
    assert "Set by the program’s author" in text or "Set by the program&#x27;s author" in text
    assert "every 6 months" in text
    assert "Lantern of the town hall" in text
    assert "It was another mason who did this work." in text
    assert "31 January 2030" in text
    assert reverse("record_pdf", args=[record.number]) in text
    # This row has one document, as records had before there were two.
    assert reverse("record_competency", args=[record.number]) not in text
    assert reverse("confirm_work", args=[record.number]) in text


def test_a_record_with_both_documents_leads_to_both(
    crew: tuple[Organisation, Person, Person], client: Client
) -> None:
    record = record_for(
        crew[2], course(qualification={}), competency="c.pdf", competency_sha256="1" * 64
    )
    text = page(client, crew[2])
    assert reverse("record_competency", args=[record.number]) in text
    assert "No rules of range were sealed with this standard" in text
    assert "No confirmation is asked for" in text


def test_the_day_asked_about_is_said(
    crew: tuple[Organisation, Person, Person], client: Client
) -> None:
    person = crew[2]
    record_for(person, course(), issued_at=datetime(2026, 11, 10, tzinfo=UTC))
    assert "No record on that day" in page(client, person, at="2026-11-01")
    assert "Records as at 3 March 2031" in page(client, person, at="2031-03-03")
    answer = client.get(reverse("mason", args=[person.pk]), {"at": "never"})
    assert (answer.status_code, "Write a day that exists" in answer.text) == (422, True)


def test_from_the_day_after_the_last_the_mason_does_not_exist(
    crew: tuple[Organisation, Person, Person], client: Client
) -> None:
    _, _, person = crew
    address = reverse("mason", args=[person.pk])
    person.employments.update(until=timezone.localdate())
    assert client.get(address).status_code == 200
    person.employments.update(until=timezone.localdate() - timedelta(days=1))
    assert client.get(address).status_code == 404
    other, _ = firm()
    client.force_login(firm()[1])
    assert client.get(reverse("mason", args=[crew_member(other).pk])).status_code == 404
    assert client.get("/crew/" + "9" * 30 + "/").status_code == 404


def test_three_records_ask_no_more_than_one(
    crew: tuple[Organisation, Person, Person],
    client: Client,
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    person = crew[2]
    counted = []
    for number in (1, 3):
        while person.records.count() < number:
            confirm(record_for(person, course(continuity=(6, 30))), days_ago(1))
        # Session, person, navigation; the mason, contractors, zones, records, rules,
        # confirmations, documents, employment.
        with django_assert_num_queries(11):
            counted.append(page(client, person).count("Range of qualification"))
    assert counted == [1, 3]
