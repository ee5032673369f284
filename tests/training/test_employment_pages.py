"""The pages of offers and employment."""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from tests.factories import make_organisation, make_person, make_role
from tests.training.yard import Yard
from training.models import Employment, EmploymentOffer, Organisation, Person


def browser(person: Person) -> Client:
    """Return a client that is signed in."""
    client = Client()
    client.force_login(person)
    return client


def waiting(to: Person, firm: Organisation | None = None) -> EmploymentOffer:
    """Return an offer from today on that waits for an answer."""
    organisation = firm or make_organisation("contractor")
    return EmploymentOffer.objects.create(
        organisation=organisation,
        person=to,
        since=timezone.localdate(),
        offered_by=make_role("contractor", organisation),
    )


def test_the_answer_is_the_same_whether_an_account_exists(yard: Yard) -> None:
    manager = make_role("contractor", yard.other_firm)
    client = browser(manager)
    shown = []
    for number, email in enumerate((yard.trainee.email, "nobody-yet@example.org")):
        sent = {
            "email": email,
            "full_name": f"Typed Name {number}",
            "since": timezone.localdate().isoformat(),
        }
        page = client.post(reverse("offer_new"), sent, follow=True)
        assert page.redirect_chain == [(reverse("offer_new"), 302)]
        (message,) = page.context["messages"]
        shown.append(str(message).replace(email, "ADDRESS"))
        assert yard.trainee.full_name not in page.text
        assert f"Typed Name {number}" not in page.text
    assert shown[0] == shown[1]


def test_what_is_wrong_is_said_at_its_field_and_nothing_is_lost(yard: Yard) -> None:
    page = browser(yard.manager).post(
        reverse("offer_new"), {"email": "nonsense", "full_name": "Ada Stone", "since": "soon"}
    )
    assert page.status_code == 422
    assert 'value="nonsense"' in page.text
    assert 'value="Ada Stone"' in page.text
    assert "2026-11-02" in page.text  # an example of how a day is written
    assert not EmploymentOffer.objects.exists()


def test_a_manager_of_two_firms_says_for_which(yard: Yard) -> None:
    second = make_organisation("contractor")
    yard.manager.roles.create(organisation=second, kind="contractor")
    client = browser(yard.manager)
    sent = {
        "email": "ada@example.org",
        "full_name": "Ada Stone",
        "since": timezone.localdate().isoformat(),
    }
    assert client.post(reverse("offer_new"), sent).status_code == 422
    sent["organisation"] = str(make_organisation("contractor").pk)
    assert client.post(reverse("offer_new"), sent).status_code == 422
    sent["organisation"] = str(second.pk)
    assert client.post(reverse("offer_new"), sent).status_code == 302
    assert EmploymentOffer.objects.get().organisation == second


def test_accepting_is_read_in_words_first(yard: Yard) -> None:
    offer = waiting(yard.trainee, yard.other_firm)
    client = browser(yard.trainee)
    page = client.get(reverse("offer_answer", args=[offer.pk])).text
    assert f"What you let {yard.other_firm} see if you accept" in page
    assert f"{yard.firm}: the day before" in page
    seen = page.split('name="seen" value="')[1].split('"')[0]
    done = client.post(
        reverse("offer_answer", args=[offer.pk]), {"answer": "accept", "seen": seen}, follow=True
    )
    assert f"You accepted the offer of {yard.other_firm}." in done.text
    assert f"{yard.other_firm}, from" in done.text
    again = client.post(
        reverse("offer_answer", args=[offer.pk]), {"answer": "decline", "seen": seen}
    )
    assert again.status_code == 422
    assert "there is nothing to answer here" in again.text


@pytest.mark.parametrize("sent", [{}, {"answer": "maybe"}, {"answer": "accept", "seen": "0:open"}])
def test_an_answer_that_is_none_changes_nothing(yard: Yard, sent: dict[str, str]) -> None:
    offer = waiting(yard.trainee)
    page = browser(yard.trainee).post(reverse("offer_answer", args=[offer.pk]), sent)
    assert page.status_code == 422
    assert 'role="alert"' in page.text
    offer.refresh_from_db()
    assert offer.state == "waiting"


def test_others_find_nothing_there(yard: Yard) -> None:
    offer = waiting(yard.trainee, yard.other_firm)
    employment = Employment.objects.get(person=yard.trainee)
    for person in (yard.lead, yard.manager, yard.stranger, offer.offered_by):
        client = browser(person)
        assert client.get(reverse("offer_answer", args=[offer.pk])).status_code == 404
        assert client.get(reverse("leave_employer", args=[employment.pk])).status_code == 404
    for person in (yard.lead, yard.stranger, offer.offered_by, yard.trainee):
        assert (
            browser(person).get(reverse("employment_end", args=[employment.pk])).status_code == 404
        )
    for person in (yard.lead, yard.stranger, yard.manager, yard.trainee):
        page = browser(person).post(reverse("offer_take_back", args=[offer.pk]))
        assert page.status_code == 404
    for person in (yard.lead, yard.trainee, yard.stranger):
        assert browser(person).get(reverse("offer_new")).status_code == 403
    assert Client().get(reverse("my_employment")).status_code == 302


def test_the_manager_ends_and_takes_back(yard: Yard) -> None:
    client = browser(yard.manager)
    employment = Employment.objects.get(person=yard.trainee)
    address = reverse("employment_end", args=[employment.pk])
    bad = client.post(address, {"until": "2024-02-01"})
    assert bad.status_code == 422
    assert "begins on 01 Mar 2024" in bad.text
    last = timezone.localdate() - timedelta(days=1)
    assert client.post(address, {"until": last.isoformat()}).status_code == 302
    employment.refresh_from_db()
    assert employment.until == last
    assert client.get(address).status_code == 404
    offer = EmploymentOffer.objects.create(
        organisation=yard.firm, person=yard.trainee, since=last, offered_by=yard.manager
    )
    assert client.post(reverse("offer_take_back", args=[offer.pk])).status_code == 302
    offer.refresh_from_db()
    assert offer.state == "taken_back"


def test_the_person_leaves(yard: Yard) -> None:
    client = browser(yard.trainee)
    employment = Employment.objects.get(person=yard.trainee)
    address = reverse("leave_employer", args=[employment.pk])
    assert "sees none of them any more" in client.get(address).text
    assert client.post(address, {"until": ""}).status_code == 422
    assert client.post(address, {"until": timezone.localdate().isoformat()}).status_code == 302
    text = client.get(reverse("my_employment")).text
    assert "up to and on that last day" in text


def test_a_call_off_asks_for_no_day(yard: Yard) -> None:
    Employment.objects.update(since=timezone.localdate() + timedelta(days=9))
    employment = Employment.objects.get(person=yard.trainee)
    client = browser(yard.trainee)
    address = reverse("leave_employer", args=[employment.pk])
    assert "Call it off" in client.get(address).text
    assert client.post(address, {}).status_code == 302
    assert not Employment.objects.exists()


def test_the_first_page_tells_of_an_offer(yard: Yard) -> None:
    person = make_person()
    waiting(person)
    assert "asks you to join its crew" in browser(person).get(reverse("home")).text


def test_lists_ask_as_often_for_three_as_for_one(
    yard: Yard, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    clients = browser(yard.trainee), browser(yard.manager)
    waiting(yard.trainee)
    EmploymentOffer.objects.create(
        organisation=yard.firm,
        person=make_person(),
        since=timezone.localdate(),
        offered_by=yard.manager,
    )
    for rounds in range(2):
        with django_assert_num_queries(5):  # session, person, employments, offers, navigation
            assert clients[0].get(reverse("my_employment")).status_code == 200
        with django_assert_num_queries(6):  # session, person, twice contractors, offers, navigation
            assert clients[1].get(reverse("offer_new")).status_code == 200
        if not rounds:
            for _ in range(2):
                waiting(yard.trainee)
                EmploymentOffer.objects.create(
                    organisation=yard.firm,
                    person=make_person(),
                    since=timezone.localdate(),
                    offered_by=yard.manager,
                )
