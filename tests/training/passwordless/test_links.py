"""Signing in by an e-mailed link: asked for, sent, opened, used once."""

import re
from datetime import timedelta
from typing import Any

import pytest
from django.core import mail
from django.db.models import F
from django.test import Client
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from tests.training.yard import Yard
from training.actions.sign_in_links import (
    MOST_FOR_A_PERSON,
    MOST_FROM_A_NETWORK,
    send_link,
    use_link,
)
from training.models import LogEntry, Person, SignInAsked, SignInLink
from training.tasks import send_sign_in_link

ASK, SENT = "/sign-in/link/", "/sign-in/link/sent/"


def inside(client: Client) -> Person | None:
    """Return who is signed in."""
    key = client.session.get("_auth_user_id")
    return Person.objects.get(pk=key) if key else None


def ask(email: str, *, at: str = "192.0.2.1", **more: str) -> Any:
    """Ask for a link; what a worker does then is left to ``work``."""
    return Client().post(ASK, {"username": email, **more}, REMOTE_ADDR=at)


def work(capture: Any) -> None:
    """Do what a worker does with every task that waits."""
    for row in DBTaskResult.objects.all():
        assert row.task_path.endswith("send_sign_in_link")
        with capture(execute=True):
            send_sign_in_link.func(*row.args_kwargs["args"], **row.args_kwargs["kwargs"])
    DBTaskResult.objects.all().delete()


def sent_path() -> str:
    """Return the path of the address in the last e-mail."""
    found = re.search(
        r"https://records\.example\.org(/sign-in/link/\S+)", str(mail.outbox[-1].body)
    )
    assert found
    return found[1]


def link_of(person: Person, capture: Any) -> str:
    """Have a link sent and return its path."""
    with capture(execute=True):
        send_link(email=person.email)
    return sent_path()


def test_from_the_question_to_being_signed_in(
    yard: Yard, django_capture_on_commit_callbacks: Any
) -> None:
    assert ask(f" {yard.trainee.email.upper()} ", next="/runs/")["Location"] == SENT
    assert mail.outbox == []
    work(django_capture_on_commit_callbacks)
    (letter,) = mail.outbox
    assert letter.to == [yard.trainee.email]
    path = sent_path()
    client = Client()
    assert yard.trainee.full_name in client.get(path).content.decode()
    assert inside(client) is None  # a mail server that looks at the link signs nobody in
    before = client.session.session_key
    answer = client.post(path)
    assert answer["Location"] == "/runs/"
    assert inside(client) == yard.trainee
    assert client.session.session_key != before
    again = Client()
    assert again.post(path).status_code == again.get(path).status_code == 410
    assert inside(again) is None
    verbs = list(LogEntry.objects.values_list("verb", "actor", "subject_id"))
    assert verbs == [
        ("sign_in.link_sent", None, str(yard.trainee.pk)),
        ("sign_in.link_used", yard.trainee.pk, str(yard.trainee.pk)),
    ]


def test_the_secret_is_kept_nowhere(yard: Yard, django_capture_on_commit_callbacks: Any) -> None:
    token = link_of(yard.trainee, django_capture_on_commit_callbacks).split("/")[3]
    assert len(token) >= 43  # 32 random bytes
    assert token not in str(SignInLink.objects.values_list())
    assert token not in str(LogEntry.objects.values_list())


def test_known_unknown_and_closed_addresses_are_answered_alike(
    yard: Yard, django_capture_on_commit_callbacks: Any, django_assert_num_queries: Any
) -> None:
    yard.stranger.is_active = False
    yard.stranger.save()
    answers = []
    for email in (yard.trainee.email, "nobody@example.org", yard.stranger.email):
        client = Client()
        with django_assert_num_queries(6):
            answer = client.post(ASK, {"username": email})
        page = client.get(answer["Location"])
        # The token that guards forms differs each time.
        shown = re.sub(r'csrfmiddlewaretoken" value="\w+', "", page.content.decode())
        answers.append((answer.status_code, answer["Location"], shown))
    assert answers[0] == answers[1] == answers[2]
    assert DBTaskResult.objects.count() == 3
    work(django_capture_on_commit_callbacks)
    assert [letter.to for letter in mail.outbox] == [[yard.trainee.email]]


@pytest.mark.parametrize(("typed", "said"), [("", "Write the e-mail"), ("odile", "such as name@")])
def test_no_address(yard: Yard, typed: str, said: str) -> None:
    answer = ask(typed, next="/runs/")
    assert answer.status_code == 422
    page = answer.content.decode()
    assert said in page
    assert 'name="next" value="/runs/"' in page
    assert not DBTaskResult.objects.exists()


def test_over_after_a_quarter_of_an_hour(
    yard: Yard, django_capture_on_commit_callbacks: Any
) -> None:
    path = link_of(yard.trainee, django_capture_on_commit_callbacks)
    whole = SignInLink.objects.get()
    assert whole.expires_at - whole.made_at == timedelta(minutes=15)
    back = timedelta(minutes=15)
    SignInLink.objects.update(made_at=F("made_at") - back, expires_at=F("expires_at") - back)
    assert Client().get(path).status_code == 410
    client = Client()
    assert client.post(path).status_code == 410
    assert inside(client) is None


def test_a_newer_link_ends_the_older(yard: Yard, django_capture_on_commit_callbacks: Any) -> None:
    older = link_of(yard.trainee, django_capture_on_commit_callbacks)
    newer = link_of(yard.trainee, django_capture_on_commit_callbacks)
    link_of(yard.lead, django_capture_on_commit_callbacks)  # somebody else's ends nothing
    client = Client()
    assert client.post(older).status_code == 410
    assert client.post(newer).status_code == 302
    assert inside(client) == yard.trainee


def test_a_closed_account_is_not_let_in(
    yard: Yard, django_capture_on_commit_callbacks: Any
) -> None:
    path = link_of(yard.trainee, django_capture_on_commit_callbacks)
    Person.objects.filter(pk=yard.trainee.pk).update(is_active=False)
    client = Client()
    assert client.post(path).status_code == 410
    assert inside(client) is None


def test_one_person_is_sent_only_so_many(
    yard: Yard, django_capture_on_commit_callbacks: Any
) -> None:
    for _ in range(MOST_FOR_A_PERSON + 2):
        path = link_of(yard.trainee, django_capture_on_commit_callbacks)
    assert len(mail.outbox) == MOST_FOR_A_PERSON
    assert Client().get(path).status_code == 200  # the last one sent still works
    past = timezone.now() - timedelta(minutes=16)
    SignInLink.objects.update(made_at=past)
    link_of(yard.trainee, django_capture_on_commit_callbacks)
    assert len(mail.outbox) == MOST_FOR_A_PERSON + 1


def test_one_network_asks_only_so_often(yard: Yard) -> None:
    for number in range(MOST_FROM_A_NETWORK):
        assert ask(f"person{number}@example.org").status_code == 302
    refused = ask(yard.trainee.email)
    assert refused.status_code == 429
    page = refused.content.decode()
    assert "Wait 15 minutes" in page
    assert yard.trainee.email in page  # what was typed is kept
    assert DBTaskResult.objects.count() == MOST_FROM_A_NETWORK
    assert ask(yard.trainee.email, at="192.0.2.2").status_code == 302
    SignInAsked.objects.update(at=timezone.now() - timedelta(minutes=16))
    assert ask(yard.trainee.email).status_code == 302


def test_what_was_counted_is_forgotten_and_tells_no_address(yard: Yard) -> None:
    ask(yard.trainee.email)
    SignInAsked.objects.update(at=timezone.now() - timedelta(days=2))
    ask(yard.trainee.email)
    row = SignInAsked.objects.get()
    assert "192.0.2.1" not in row.source


@pytest.mark.parametrize("following", ["https://elsewhere.example/", "//elsewhere.example"])
def test_only_own_pages_follow(
    yard: Yard, following: str, django_capture_on_commit_callbacks: Any
) -> None:
    ask(yard.trainee.email, next=following)
    work(django_capture_on_commit_callbacks)
    assert "elsewhere" not in mail.outbox[0].body
    assert Client().post(sent_path(), {"next": following})["Location"] == "/"


def test_somebody_elses_session_ends(yard: Yard, django_capture_on_commit_callbacks: Any) -> None:
    client = Client()
    client.force_login(yard.lead)
    session = client.session
    session["left"] = "by the lead"
    session.save()
    path = link_of(yard.trainee, django_capture_on_commit_callbacks)
    assert client.post(path).status_code == 302
    assert inside(client) == yard.trainee
    assert "left" not in client.session


def test_no_form_of_another_site_signs_in(
    yard: Yard, django_capture_on_commit_callbacks: Any
) -> None:
    client = Client(enforce_csrf_checks=True)
    path = link_of(yard.trainee, django_capture_on_commit_callbacks)
    assert client.post(path).status_code == 403
    assert use_link(token=path.split("/")[3]) == yard.trainee  # and nothing was used up


def test_the_letter_is_in_the_readers_language(
    yard: Yard, django_capture_on_commit_callbacks: Any
) -> None:
    yard.trainee.language = "es"
    yard.trainee.save()
    asked = []

    def look(self: Any) -> str:
        from django.utils import translation

        asked.append(translation.get_language())
        return yard.trainee.full_name

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Person, "__str__", look)
        link_of(yard.trainee, django_capture_on_commit_callbacks)
    assert set(asked) == {"es"}
