"""The own account: how one signs in, and a first password for whoever has none."""

import re
from typing import Any

import pytest
from django.core import mail
from django.test import Client

from tests.training.yard import Yard
from training.models import LogEntry, Passkey, Person

LINK = "/account/password-link/"


def signed_in(person: Person) -> Client:
    """Return a browser in which the person has signed in."""
    client = Client()
    client.force_login(person)
    return client


def without_password(person: Person) -> Person:
    """Take the person's password away."""
    person.set_unusable_password()
    person.save()
    return person


def test_a_first_password_comes_by_e_mail(
    yard: Yard, django_capture_on_commit_callbacks: Any
) -> None:
    client = signed_in(without_password(yard.trainee))
    assert LINK in client.get("/account/").content.decode()
    with django_capture_on_commit_callbacks(execute=True):
        assert client.post(LINK)["Location"] == "/account/"
    assert mail.outbox[0].to == [yard.trainee.email]
    assert yard.trainee.email in client.get("/account/").content.decode()
    found = re.search(r"https://records\.example\.org(/password/\S+)", str(mail.outbox[0].body))
    assert found
    page = Client().get(found[1], follow=True)
    assert "Set your password" in page.content.decode()
    row = LogEntry.objects.get()
    assert (row.verb, row.actor) == ("password.link_made", yard.trainee)


def test_who_has_a_password_gets_no_new_one_by_e_mail(
    yard: Yard, django_capture_on_commit_callbacks: Any
) -> None:
    client = signed_in(yard.trainee)
    assert LINK not in client.get("/account/").content.decode()
    with django_capture_on_commit_callbacks(execute=True):
        client.post(LINK)
    assert mail.outbox == []
    assert "You have a password" in client.get("/account/").content.decode()
    assert not LogEntry.objects.exists()


def test_only_so_many_are_sent(yard: Yard, django_capture_on_commit_callbacks: Any) -> None:
    client = signed_in(without_password(yard.trainee))
    for _ in range(4):
        with django_capture_on_commit_callbacks(execute=True):
            client.post(LINK)
    assert len(mail.outbox) == 3


@pytest.mark.parametrize("number", [1, 3])
def test_the_page_asks_the_same_number_of_queries(
    yard: Yard, number: int, django_assert_num_queries: Any
) -> None:
    for each in range(number):
        Passkey.objects.create(
            person=yard.trainee, name=f"Key {each}", credential_id=bytes([each]), public_key=b"k"
        )
    client = signed_in(yard.trainee)
    client.get("/account/")
    with django_assert_num_queries(QUERIES):
        page = client.get("/account/").content.decode()
    assert page.count("/remove/") >= number
    assert "Key 0" in page


QUERIES = 5
