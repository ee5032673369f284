"""The page of a record and those of what can be done about it."""

import re
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from certificates.actions.status.changes import suspend_record
from certificates.actions.status.guard import steps_of
from certificates.actions.status.withdrawal import propose_withdrawal
from certificates.models import Record, StatusChange, WithdrawalAnswer
from certificates.queries.standing import standing_of
from tests.certificates.status.builders import REASON, change
from tests.certificates.status.conftest import Office
from tests.factories import make_organisation, make_role
from training.models import Employment, Organisation, Person, Role


def at(person: Person) -> Client:
    """Return a browser in which ``person`` is signed in."""
    client = Client()
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    return client


def url(office: Office, name: str = "record") -> str:
    """Return the address of the record's page of this name."""
    return reverse(name, args=[office.record.number])


def text_of(response: Any) -> str:
    """Return the words of a page, its tags left out."""
    return " ".join(re.sub(r"<[^>]+>", " ", response.content.decode()).split())


def page(office: Office, person: Person) -> str:
    """Return the words of the record's page as ``person`` reads it."""
    response = at(person).get(url(office))
    assert response.status_code == 200
    return text_of(response)


def send(office: Office, name: str, person: Person, **values: Any) -> Any:
    """Send the form of an action as its page would."""
    given = {"seen": steps_of(office.record), "reason": REASON, **values}
    return at(person).post(url(office, name), given, follow=True)


def word(office: Office) -> str:
    """Return the word of the record's standing, read anew."""
    return standing_of(Record.objects.get(pk=office.record.pk)).word


def test_a_life_by_the_pages_alone(office: Office) -> None:
    assert "Suspended. The holder" not in page(office, office.lead)
    told = text_of(send(office, "record_suspend", office.lead))
    assert "The record is suspended. The holder is told by e-mail." in told
    assert f"Suspended , by {office.lead} {REASON}" in told
    assert word(office) == "suspended"
    send(office, "record_restore", office.second)
    assert word(office) == "current"
    told = text_of(send(office, "record_withdraw", office.lead, suspend="on"))
    assert "It waits for another lead" in told
    assert str(office.second) in told
    assert word(office) == "suspended"
    assert "It waits for your answer" in page(office, office.second)
    told = text_of(send(office, "record_withdrawal", office.second, note=""))
    assert "The record is withdrawn. The holder is told by e-mail." in told
    assert f"Withdrawn , by {office.lead}, confirmed by {office.second}" in told
    assert "What you can do" not in told
    assert word(office) == "withdrawn"


def test_declined_on_the_page(office: Office) -> None:
    propose_withdrawal(actor=office.lead, record=office.record, reason=REASON, suspend=True)
    short = send(office, "record_withdrawal", office.second, decline="yes", note="No.")
    assert short.status_code == 422
    assert "Write why, in 10 characters or more" in text_of(short)
    assert ">\nNo.</textarea>" in short.content.decode()
    told = text_of(
        send(office, "record_withdrawal", office.second, decline="yes", note="The name is right.")
    )
    assert "The proposal is declined." in told
    assert f"Proposal declined , by {office.second} The name is right." in told
    assert not WithdrawalAnswer.objects.get().confirmed
    assert word(office) == "current"


def test_what_is_typed_stays_when_it_is_refused(office: Office) -> None:
    response = send(office, "record_suspend", office.lead, reason="Too short")
    assert response.status_code == 422
    assert ">Too short</textarea>" in response.content.decode().replace("\n", "")
    assert "Nothing was done yet" in text_of(response)


def test_who_comes_second_reads_what_happened_and_may_press_again(office: Office) -> None:
    seen = steps_of(office.record)
    suspend_record(actor=office.lead, record=office.record, reason="Somebody was faster.")
    response = send(office, "record_withdraw", office.second, seen=seen)
    assert response.status_code == 422
    assert "Somebody else acted on this record meanwhile" in text_of(response)
    assert "Somebody was faster." in text_of(response)
    assert f">\n{REASON}</textarea>" in response.content.decode()
    assert f'name="seen" value="{seen + 1}"' in response.content.decode()


@pytest.mark.parametrize("seen", ["", "many"])
def test_a_form_sent_changed_is_said_plainly(office: Office, seen: str) -> None:
    response = send(office, "record_suspend", office.lead, seen=seen)
    assert response.status_code == 422
    assert "Open it again." in text_of(response)
    assert not StatusChange.objects.exists()


def test_what_cannot_be_done_now_is_not_offered(office: Office) -> None:
    response = at(office.lead).get(url(office, "record_restore"), follow=True)
    assert response.redirect_chain == [(url(office), 302)]
    assert "This cannot be done to the record as it stands now." in text_of(response)
    said = page(office, office.lead)
    assert ("Suspend it" in said, "Restore it" in said) == (True, False)
    change(office.record, "suspended", office.lead)
    said = page(office, office.lead)
    assert ("Suspend it" in said, "Restore it" in said) == (False, True)


def test_the_holder_reads_the_reason_but_no_proposal(office: Office) -> None:
    propose_withdrawal(
        actor=office.lead, record=office.record, reason="Between us leads.", suspend=False
    )
    change(office.record, "suspended", office.lead)
    said = page(office, office.yard.trainee)
    assert REASON in said
    assert "Between us leads." not in said
    assert "What you can do" not in said


def test_the_employer_reads_how_it_stands_and_not_why(office: Office) -> None:
    firm = make_organisation(Organisation.Kind.CONTRACTOR)
    manager = make_role(Role.Kind.CONTRACTOR, firm)
    Employment.objects.create(
        person=office.yard.trainee, organisation=firm, since=office.record.issued_at.date()
    )
    change(office.record, "suspended", office.lead)
    said = page(office, manager)
    assert "Suspended" in said
    assert REASON not in said
    assert str(office.lead) not in said


def test_without_a_second_lead_the_page_says_what_to_do(office: Office) -> None:
    propose_withdrawal(actor=office.lead, record=office.record, reason=REASON, suspend=False)
    Role.objects.filter(kind=Role.Kind.LEAD).exclude(person=office.lead).delete()
    assert "there is none yet: give somebody the role ." in page(office, office.lead)


def test_a_number_that_is_none(office: Office) -> None:
    response = at(office.lead).get(reverse("record", args=["what"]))
    assert response.status_code == 404


# Session, person, record, its changes and doubts, lead, proposals, changes with people,
# doubts with people, the look that is noted, employers, navigation.
QUERIES = 12


def test_the_page_asks_as_often_after_three_changes_as_after_one(
    office: Office, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    client = at(office.lead)
    change(office.record, "suspended", office.lead)
    client.get(url(office))
    for _ in range(2):
        with django_assert_num_queries(QUERIES):
            client.get(url(office))
        change(office.record, "restored", office.second)
        change(office.record, "suspended", office.second)
