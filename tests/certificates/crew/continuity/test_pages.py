"""The pages on which work is confirmed and taken back, and the holder's own."""

import html
import re
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from certificates.models import Confirmation
from tests.certificates.crew.builders import confirm, crew_member, days_ago, firm, record_for
from tests.certificates.crew.continuity.conftest import Bench, make_bench
from tests.factories import make_person, make_role
from training.models import Person, Role


def browser(person: Person) -> Client:
    """Return a client that is signed in."""
    client = Client()
    client.force_login(person)
    return client


def nearly_due(days: int = 5) -> Bench:
    """Return a bench whose confirmation is due in about so many days."""
    return make_bench(issued_at=timezone.now() - timedelta(days=182 - days), grace=30)


def seal_in(text: str) -> str:
    """Return the value of the button that signs."""
    found = re.search(r'name="sign" value="([0-9a-f]{64})"', text)
    assert found
    return found[1]


@pytest.fixture
def due(db: None) -> Bench:
    """Return a bench whose confirmation is due in some days."""
    return nearly_due()


def test_the_statement_is_read_in_full_and_then_signed(due: Bench) -> None:
    client = browser(due.manager)
    address = reverse("confirm_work", args=[due.record.number])
    assert (
        "Vertical face" in client.get(address).text or "vertical face" in client.get(address).text
    )
    worked = days_ago(2)
    sent = {
        "worked_on": worked.isoformat(),
        "project_name": "Old granary",
        "work": "Set two <dutchmen>",
    }
    page = client.post(address, sent)
    assert page.status_code == 200
    assert not Confirmation.objects.exists()
    said = (
        f"I confirm for {due.firm} that Aranka Felsőházi did work within the range of record "
        f"{due.record.number} (Dutchman repair) on {worked.day} {worked:%B %Y} at Old granary. "
        "The work: Set two <dutchmen>."
    )
    assert html.escape(said) in page.text
    assert 'value="Old granary"' in page.text
    done = client.post(address, {**sent, "sign": seal_in(page.text)}, follow=True)
    assert "Signed: Aranka Felsőházi worked on" in done.text
    assert Confirmation.objects.get().worked_on == worked


def test_what_was_changed_after_reading_is_shown_again(due: Bench) -> None:
    client = browser(due.manager)
    address = reverse("confirm_work", args=[due.record.number])
    sent = {"worked_on": days_ago(2).isoformat(), "project_name": "Old granary"}
    seal = seal_in(client.post(address, sent).text)
    sent["worked_on"] = days_ago(3).isoformat()
    page = client.post(address, {**sent, "sign": seal})
    assert page.status_code == 200
    assert seal_in(page.text) != seal
    assert not Confirmation.objects.exists()


@pytest.mark.parametrize(
    ("sent", "said"),
    [
        ({}, "Choose a day."),
        ({"worked_on": "yesterday", "project_name": "x"}, "Write the day as year-month-day"),
        ({"worked_on": "2999-01-01", "project_name": "x"}, "in the future"),
        ({"worked_on": "2026-11-01"}, "Choose a project, or write where"),
        ({"worked_on": "2026-11-01", "project": "7"}, "not in the list any more"),
    ],
)
def test_errors_stand_at_their_field_and_nothing_is_lost(
    due: Bench, sent: dict[str, str], said: str
) -> None:
    page = browser(due.manager).post(
        reverse("confirm_work", args=[due.record.number]), {**sent, "work": "Kept as typed"}
    )
    assert page.status_code == 422
    assert said in page.text
    assert 'value="Kept as typed"' in page.text
    assert 'name="sign"' not in page.text


def test_who_finds_which_page(due: Bench) -> None:
    lead = Role.objects.get(kind="lead", organisation=due.program.provider).person
    signed = confirm(due.record, days_ago(2), by=due.manager)
    work = reverse("confirm_work", args=[due.record.number])
    back = reverse("confirmation_retract", args=[signed.pk])
    many = reverse("confirm_many")
    owner = make_role("owner", firm()[0])
    expected = {
        due.manager: (200, 200, 200),
        firm()[1]: (404, 404, 200),
        lead: (403, 403, 403),
        due.mason: (403, 403, 403),
        owner: (404, 403, 403),
        make_person(): (404, 403, 403),
    }
    for person, statuses in expected.items():
        client = browser(person)
        found = tuple(client.get(address).status_code for address in (work, back, many))
        assert found == statuses, person
        assert client.get(reverse("my_confirmations")).status_code == 200
    assert Client().get(many).status_code == 302


def test_taking_back_by_the_page(due: Bench) -> None:
    signed = confirm(due.record, days_ago(2), by=due.manager)
    client = browser(due.manager)
    address = reverse("confirmation_retract", args=[signed.pk])
    assert client.post(address, {"reason": "short"}).status_code == 422
    page = client.post(address, {"reason": "It was another wall <b>."}, follow=True)
    assert "it counts no longer" in page.text
    assert "took it back" in client.get(address).text
    mine = browser(due.mason).get(reverse("my_confirmations")).text
    assert "Taken back" in mine
    assert "It was another wall &lt;b&gt;." in mine


def test_the_table_has_what_is_due_and_says_each_error_at_its_row(due: Bench) -> None:
    late = make_bench(issued_at=timezone.now() - timedelta(days=190), grace=30)
    record = record_for(
        crew_member(due.firm, "Ilse Vantongeren", since=days_ago(1)),
        late.program,
        issued_at=late.record.issued_at,
    )
    record_for(crew_member(due.firm, "Noor Adriaanse"), late.program, issued_at=timezone.now())
    client, address = browser(due.manager), reverse("confirm_many")
    page = client.get(address).text
    assert "2 records of your crew need a confirmation" in page
    assert page.index("Ilse Vantongeren") < page.index("Aranka Felsőházi")
    assert "Confirmation overdue, counts in grace" in page
    assert "Noor Adriaanse" not in page
    both = [due.record.number, record.number]
    sent = {"record": both, "worked_on": days_ago(2).isoformat(), "project_name": "Old granary"}
    refused = client.post(address, sent)
    assert refused.status_code == 422
    assert f'id="error-{record.number}"' in refused.text
    assert f'id="error-{due.record.number}"' not in refused.text
    assert refused.text.count(" checked") == 2
    assert 'value="Old granary"' in refused.text
    assert not Confirmation.objects.exists()


def test_many_are_read_and_signed_together(due: Bench) -> None:
    other = record_for(
        crew_member(due.firm, "Ilse Vantongeren"),
        due.program,
        issued_at=due.record.issued_at,
    )
    client, address = browser(due.manager), reverse("confirm_many")
    sent: dict[str, object] = {
        "record": [due.record.number, other.number],
        "worked_on": days_ago(2).isoformat(),
        "project_name": "Old granary",
    }
    page = client.post(address, sent)
    assert page.text.count("I confirm for") == 2
    assert not Confirmation.objects.exists()
    done = client.post(address, {**sent, "sign": seal_in(page.text)}, follow=True)
    assert "2 confirmations signed." in done.text
    assert "Nothing is due" in done.text
    assert Confirmation.objects.count() == 2


def test_a_record_that_is_no_longer_of_the_crew_stops_the_signing(due: Bench) -> None:
    foreign = nearly_due()
    client = browser(due.manager)
    sent = {
        "record": [due.record.number, foreign.record.number],
        "worked_on": days_ago(2).isoformat(),
        "project_name": "Old granary",
    }
    page = client.post(reverse("confirm_many"), sent)
    assert page.status_code == 422
    assert "not among those of your crew any more" in page.text
    assert foreign.record.number not in page.text
    nothing = client.post(reverse("confirm_many"), {**sent, "record": []})
    assert "Tick at least one record." in nothing.text


def test_the_first_page_tells_what_is_due(due: Bench) -> None:
    assert "1 record wants a confirmation" in browser(due.manager).get(reverse("home")).text
    assert "confirmation" not in browser(firm()[1]).get(reverse("home")).text


def test_the_holder_reads_what_keeps_the_record(due: Bench) -> None:
    client = browser(due.mason)
    text = client.get(reverse("my_confirmations")).text
    assert "Confirmation due" in text
    assert "Nothing was confirmed yet." in text
    confirm(due.record, days_ago(2), by=due.manager, project_name="Old granary")
    text = client.get(reverse("my_confirmations")).text
    assert "Old granary" in text
    assert due.manager.full_name in text
    assert "Take it back" not in text


def test_lists_ask_as_often_for_three_as_for_one(
    due: Bench, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    manager, mason = browser(due.manager), browser(due.mason)
    confirm(due.record, days_ago(170), by=due.manager)
    for rounds in range(2):
        # Session, person, contractors; standards, what may be due, zones, what is due; projects;
        # signed; navigation.
        with django_assert_num_queries(10):
            assert manager.get(reverse("confirm_many")).status_code == 200
        # Session, person; zones, records, confirmations; navigation.
        with django_assert_num_queries(6):
            assert mason.get(reverse("my_confirmations")).status_code == 200
        if not rounds:
            for person in (crew_member(due.firm), crew_member(due.firm)):
                again = record_for(person, due.program, issued_at=due.record.issued_at)
                confirm(again, days_ago(170), by=due.manager)
            for _ in range(2):
                record_for(due.mason, due.program, issued_at=due.record.issued_at)
