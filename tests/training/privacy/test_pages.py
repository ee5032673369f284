"""The pages of consents, of what is kept, and of export and erasure."""

import io
import zipfile

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from tests.factories import enrol, make_person
from tests.training.yard import Yard, make_yard
from training.actions.consents import give_consent
from training.models import Consent, Erasure, LogEntry, Person


@pytest.fixture
def yard(db: None) -> Yard:
    """Return a provider with everybody around it."""
    return make_yard()


def browser(person: Person) -> Client:
    """Return a client that is signed in."""
    client = Client()
    client.force_login(person)
    return client


def test_anybody_reads_what_is_kept(db: None, client: Client) -> None:
    page = client.get(reverse("retention"))
    assert page.status_code == 200
    for words in ("Local law comes first", "For 90 days", "The log:", "Sealed standards"):
        assert words in page.text


def test_a_person_answers_and_takes_it_back(yard: Yard) -> None:
    client = browser(yard.trainee)
    sent = {"provider": yard.provider.pk, "kind": "photographs"}
    for answer, word in (("give", "Agreed"), ("refuse", "Taken back")):
        page = client.post(reverse("consent_say"), {**sent, "answer": answer}, follow=True)
        assert page.status_code == 200
        assert f"<span>{word}</span>" in page.text
    assert Consent.objects.count() == 2
    assert client.post(reverse("consent_say"), {**sent, "provider": "x"}).status_code == 404


def test_an_instructor_writes_an_answer_down(yard: Yard) -> None:
    client = browser(yard.teacher)
    address = reverse("consent_note", args=[yard.enrolment.pk])
    wrong = client.post(address, {"kind": "photographs", "given": "give"})
    assert wrong.status_code == 422
    assert 'value="give" required' in wrong.text or "checked" in wrong.text  # nothing is lost
    sent = {"kind": "photographs", "given": "give", "how": "paper"}
    page = client.post(address, sent, follow=True)
    assert page.redirect_chain == [(reverse("run_consents", args=[yard.run.pk]), 302)]
    assert "<span>Agreed</span>" in page.text
    assert browser(yard.trainee).get(address).status_code == 404
    assert browser(yard.other_teacher).get(address).status_code == 404


def test_as_many_queries_for_one_trainee_as_for_three(
    yard: Yard, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    client, address = browser(yard.lead), reverse("run_consents", args=[yard.run.pk])
    with django_assert_num_queries(6) as counted:
        client.get(address)
    for _ in range(2):
        give_consent(
            actor=enrol(yard.run, make_person()).person, provider=yard.provider, kind="photographs"
        )
    with django_assert_num_queries(len(counted)):
        assert client.get(address).text.count("Write down an answer") == 3


def test_everything_is_given_to_the_person_and_to_the_lead_and_logged(yard: Yard) -> None:
    for actor, name, args in (
        (yard.trainee, "my_data", []),
        (yard.lead, "person_data", [yard.trainee.pk]),
    ):
        page = browser(actor).post(reverse(name, args=args))
        data = b"".join(page.streaming_content)  # type: ignore[attr-defined]
        assert zipfile.ZipFile(io.BytesIO(data)).namelist() == ["README.txt", "data.json"]
        entry = LogEntry.objects.latest("seq")
        assert (entry.verb, entry.actor, entry.subject_id) == (
            "person.exported",
            actor,
            str(yard.trainee.pk),
        )
    for other in (yard.teacher, yard.manager, yard.stranger):
        address = reverse("person_data", args=[yard.trainee.pk])
        assert browser(other).post(address).status_code == 404


def test_an_erasure_says_what_stands_in_the_way_and_keeps_what_was_typed(yard: Yard) -> None:
    client, address = browser(yard.lead), reverse("person_erase", args=[yard.trainee.pk])
    assert "An employment at" in client.get(address).text
    sent = {"typed_name": "Somebody Else", "reason": "Asked for it by letter."}
    page = client.post(address, sent)
    assert page.status_code == 422
    assert 'value="Somebody Else"' in page.text
    assert "exactly as it stands here" in page.text
    yard.trainee.employments.update(until="2026-11-01")
    yard.run.state = "closed"
    yard.run.save()
    done = client.post(address, {**sent, "typed_name": yard.trainee.full_name}, follow=True)
    assert Erasure.objects.get().pseudonym in done.text
    assert yard.trainee.full_name not in client.get(reverse("people")).text
