"""Signing in and out, guesses, and setting a password."""

from datetime import timedelta
from types import SimpleNamespace
from urllib.parse import urlsplit

import pytest
from axes.models import AccessAttempt
from django.db import OperationalError
from django.db.models import F
from django.test import Client
from django.urls import reverse

from tests.factories import PASSWORD
from tests.training.yard import Yard
from training.actions.passwords import make_password_link
from training.models import LogEntry

SIGN_IN = "/sign-in/"
HERE = "192.0.2.1"  # addresses kept for examples by RFC 5737
ELSEWHERE = "192.0.2.2"
LIMIT = 6


def sign_in(email: str, password: str, *, at: str = HERE, **more: str) -> tuple[int, str, Client]:
    """Try to sign in from an address; return the status, the page and the client."""
    client = Client()
    response = client.post(
        SIGN_IN, {"username": email, "password": password, **more}, REMOTE_ADDR=at
    )
    return response.status_code, response.content.decode(), client


def inside(client: Client) -> bool:
    """Say whether the client is signed in."""
    return "_auth_user_id" in client.session


@pytest.mark.parametrize("change", [str.lower, str.upper, str.title, lambda text: f" {text} "])
def test_the_address_is_taken_in_whatever_case(yard: Yard, change: type[str]) -> None:
    status, _, client = sign_in(change(yard.lead.email), PASSWORD)
    assert status == 302
    assert inside(client)


def test_a_wrong_password_and_an_unknown_address_answer_alike(yard: Yard) -> None:
    yard.stranger.is_active = False
    yard.stranger.save()
    pages = []
    for email, password in (
        (yard.lead.email, "wrong"),
        ("nobody@example.org", "wrong"),
        (yard.stranger.email, PASSWORD),
    ):
        status, page, client = sign_in(email, password)
        assert status == 200
        assert not inside(client)
        assert page.count("do not go together") == 1
        assert email in page  # what was typed is kept
        pages.append(page.partition("<form method")[0].partition('class="errors"')[2])
    assert pages[0] == pages[1] == pages[2] != ""


@pytest.mark.parametrize(
    ("email", "password", "said"),
    [
        ("", PASSWORD, "Write the e-mail address of your account."),
        ("odile", PASSWORD, "such as name@example.org"),
        ("odile@example.org", "", "Write your password."),
    ],
)
def test_errors_stand_at_the_field(db: None, email: str, password: str, said: str) -> None:
    status, page, _ = sign_in(email, password)
    assert status == 200
    assert page.count(said) == 2  # in the summary and at the field


def test_guesses_are_limited_for_a_while(yard: Yard) -> None:
    email = yard.lead.email
    for guess in range(1, LIMIT):
        assert sign_in(email.upper() if guess % 2 else email, "wrong")[0] == 200
    status, page, _ = sign_in(email, "wrong")
    assert status == 429
    assert "Wait 15 minutes" in page
    status, _, client = sign_in(email, PASSWORD)
    assert status == 429
    assert not inside(client)
    # Somebody else's guesses shut out neither the person elsewhere nor others here.
    assert inside(sign_in(email, PASSWORD, at=ELSEWHERE)[2])
    assert inside(sign_in(yard.teacher.email, PASSWORD)[2])


@pytest.mark.parametrize(("minutes", "status"), [(14, 429), (16, 302)])
def test_waiting_lets_one_in_again(yard: Yard, minutes: int, status: int) -> None:
    for _ in range(LIMIT):
        sign_in(yard.lead.email, "wrong")
    earlier = F("attempt_time") - timedelta(minutes=minutes)
    assert AccessAttempt.objects.update(attempt_time=earlier) == 1
    assert sign_in(yard.lead.email, PASSWORD)[0] == status


def test_trying_while_shut_out_does_not_make_it_longer(yard: Yard) -> None:
    for _ in range(LIMIT):
        sign_in(yard.lead.email, "wrong")
    before = AccessAttempt.objects.get().attempt_time
    sign_in(yard.lead.email, "wrong")
    assert AccessAttempt.objects.get().attempt_time == before


def test_signing_in_forgets_the_guesses(yard: Yard) -> None:
    for _ in range(2):
        for _ in range(LIMIT - 1):
            assert sign_in(yard.lead.email, "wrong")[0] == 200
        assert sign_in(yard.lead.email, PASSWORD)[0] == 302


@pytest.mark.parametrize(
    ("typed", "leads_to"),
    [("/runs/", "/runs/"), ("https://elsewhere.example/", "/"), ("//elsewhere.example", "/")],
)
def test_only_own_pages_follow(yard: Yard, typed: str, leads_to: str) -> None:
    client = Client()
    response = client.post(
        SIGN_IN, {"username": yard.lead.email, "password": PASSWORD, "next": typed}
    )
    assert response["Location"] == leads_to


def test_sign_out(yard: Yard, client: Client) -> None:
    client.force_login(yard.lead)
    assert client.get("/sign-out/").status_code == 405
    assert inside(client)
    assert client.post("/sign-out/").status_code == 302
    assert not inside(client)
    assert client.post("/sign-out/")["Location"] == "/"


def test_set_a_password_by_a_link(yard: Yard, client: Client) -> None:
    parts = make_password_link(actor=yard.lead, person=yard.trainee)
    first = client.get(reverse("set_password", kwargs=parts))
    form_url = first["Location"]
    assert parts["token"] not in form_url
    assert yard.trainee.full_name in client.get(form_url).content.decode()
    short = {"new_password1": "chisel", "new_password2": "chisel"}
    assert "too short" in client.post(form_url, short).content.decode()
    good = {"new_password1": "a wedge of green oak", "new_password2": "a wedge of green oak"}
    assert client.post(form_url, good)["Location"] == SIGN_IN
    assert inside(sign_in(yard.trainee.email, "a wedge of green oak")[2])
    assert LogEntry.objects.filter(verb="password.set", actor=yard.trainee).count() == 1
    again = Client().get(reverse("set_password", kwargs=parts), follow=True)
    assert "does not work any more" in again.content.decode()


@pytest.mark.parametrize("path", ["/password/MQ/x-y/", "/password/!!/abc-def/", "/password/zz/1/"])
def test_a_link_that_is_none(db: None, client: Client, path: str) -> None:
    page = client.get(path, follow=True)
    assert page.status_code == 200
    assert "does not work any more" in page.content.decode()


def test_change_the_own_password(yard: Yard, client: Client) -> None:
    client.force_login(yard.lead)
    values = {"new_password1": "a lead of two wythes", "new_password2": "a lead of two wythes"}
    wrong = client.post("/password/", {"old_password": "wrong", **values})
    assert "incorrectly" in wrong.content.decode()
    assert client.post("/password/", {"old_password": PASSWORD, **values})["Location"] == "/"
    assert inside(client)
    assert LogEntry.objects.get().verb == "password.set"
    assert client.get("/").status_code == 200


def test_the_server_is_well(db: None, client: Client) -> None:
    response = client.get("/healthz")
    assert (response.status_code, response.content) == (200, b"ok\n")
    assert "no-store" in response["Cache-Control"]


def test_the_server_is_not_well(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail() -> None:
        raise OperationalError("gone")

    monkeypatch.setattr("training.views.home.connection", SimpleNamespace(cursor=fail))
    assert client.get("/healthz").status_code == 503


def test_what_follows_a_path(yard: Yard, client: Client) -> None:
    response = client.get("/runs/?state=open")
    assert response.status_code == 302
    target = urlsplit(response["Location"])
    assert (target.path, target.query) == (SIGN_IN, "next=/runs/%3Fstate%3Dopen")
