"""Passkeys: added, used to sign in, removed, and every answer of a device that must not do."""

import json
import time
from collections.abc import Callable
from typing import Any

import pytest
from django.core import mail
from django.test import Client
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.training.passwordless.authenticator import PRESENT, Device, b64
from tests.training.yard import Yard
from training import sessions
from training.models import LogEntry, Passkey, Person
from training.passkeys import WrongAnswerError, checked_addition, read_answer

ORIGIN, RP = "https://records.example.org", "records.example.org"
NEW, NEW_OPTIONS = "/account/passkeys/new/", "/account/passkeys/options/"
SIGN_IN, OPTIONS = "/sign-in/passkey/", "/sign-in/passkey/options/"


def device(**bent: Any) -> Device:
    """Return a device at the site's own address."""
    return Device(**{"origin": ORIGIN, "rp_id": RP, **bent})


def signed_in(person: Person) -> Client:
    """Return a browser in which the person has just signed in."""
    client = Client()
    client.force_login(person)
    return client


def added(person: Person, made: Device, name: str = "My phone") -> Client:
    """Add the device to the account; fails unless that is accepted."""
    client = signed_in(person)
    options = client.post(NEW_OPTIONS).json()
    answer = client.post(NEW, {"name": name, "answer": made.create(options)})
    assert answer.status_code == 302, answer.content.decode()
    return client


def try_in(made: Device, client: Client | None = None, **bent: Any) -> Client:
    """Sign in with the device; return the browser."""
    client = client or Client()
    client.post(SIGN_IN, {"answer": made.get(client.post(OPTIONS).json(), **bent)})
    return client


def inside(client: Client) -> str | None:
    """Return the key of who is signed in."""
    found: str | None = client.session.get("_auth_user_id")
    return found


def test_what_a_browser_is_asked(yard: Yard) -> None:
    client = added(yard.trainee, device())
    asked = client.post(NEW_OPTIONS).json()
    assert asked["rp"]["id"] == RP
    assert asked["authenticatorSelection"]["residentKey"] == "required"
    assert asked["authenticatorSelection"]["userVerification"] == "required"
    assert [each["id"] for each in asked["excludeCredentials"]] == [
        b64(bytes(Passkey.objects.get().credential_id))
    ]
    assert yard.trainee.email.encode().hex() not in asked["user"]["id"]
    anybody = Client().post(OPTIONS).json()
    assert anybody["userVerification"] == "required"
    assert anybody["rpId"] == RP
    assert not anybody.get("allowCredentials")  # it tells nobody which passkeys there are
    assert len(asked["challenge"]) == len(anybody["challenge"]) == 43  # 32 bytes


def test_add_sign_in_remove(yard: Yard, django_capture_on_commit_callbacks: Any) -> None:
    made = device()
    with django_capture_on_commit_callbacks(execute=True):
        client = added(yard.trainee, made, "  My   phone ")
    assert [letter.to for letter in mail.outbox] == [[yard.trainee.email]]
    assert "My phone" in mail.outbox[0].body
    passkey = Passkey.objects.get()
    assert (passkey.person, passkey.name, passkey.sign_count) == (yard.trainee, "My phone", 0)
    browser = Client()
    browser.get("/sign-in/")
    browser = try_in(made, browser)
    assert inside(browser) == str(yard.trainee.pk)
    passkey.refresh_from_db()
    assert passkey.sign_count == 1
    assert passkey.used_at is not None
    assert "My phone" in client.get("/account/").content.decode()
    assert client.post(f"/account/passkeys/{passkey.pk}/remove/").status_code == 302
    assert not Passkey.objects.exists()
    assert inside(try_in(made)) is None
    assert list(LogEntry.objects.values_list("verb", "actor")) == [
        ("passkey.added", yard.trainee.pk),
        ("passkey.used", yard.trainee.pk),
        ("passkey.removed", yard.trainee.pk),
    ]


def test_the_session_is_a_new_one_and_the_page_asked_for_follows(yard: Yard) -> None:
    made = device()
    added(yard.trainee, made)
    client = Client()
    options = client.post(OPTIONS).json()
    before = client.session.session_key
    answer = client.post(SIGN_IN, {"answer": made.get(options), "next": "/runs/"})
    assert answer["Location"] == "/runs/"
    assert client.session.session_key != before
    client = Client()
    answer = client.post(
        SIGN_IN, {"answer": made.get(client.post(OPTIONS).json()), "next": "//elsewhere.example"}
    )
    assert answer["Location"] == "/"


def test_a_device_that_does_not_count(yard: Yard) -> None:
    made = device(step=0)
    added(yard.trainee, made)
    for _ in range(2):
        assert inside(try_in(made)) == str(yard.trainee.pk)


@pytest.mark.parametrize("back", [0, 3])
def test_a_count_that_does_not_go_up_is_a_copy(
    yard: Yard, back: int, django_capture_on_commit_callbacks: Any
) -> None:
    made = device(count=5)
    added(yard.trainee, made)
    made.step = -back
    with django_capture_on_commit_callbacks(execute=True):
        client = try_in(made)
    assert inside(client) is None
    assert "copy of this passkey" in client.get("/sign-in/").content.decode()
    assert mail.outbox[-1].to == [yard.trainee.email]
    assert Passkey.objects.get().sign_count == 5
    assert LogEntry.objects.latest("seq").verb == "passkey.copy_suspected"


@pytest.mark.parametrize(
    "bend",
    [
        lambda made: {"flags": PRESENT},  # not unlocked by its holder
        lambda made: {"flags": 0x04},
        lambda made: {"origin": "https://records.example.org:8443"},
        lambda made: {"origin": "http://records.example.org"},
        lambda made: {"rp_id": "example.org"},
        lambda made: {"cross_origin": True},
        lambda made: {"handle": b""},
        lambda made: {"handle": bytes(32)},
        lambda made: {"key": device().key},
        lambda made: {"credential_id": bytes(32)},
    ],
)
def test_an_answer_that_does_not_hold(yard: Yard, bend: Callable[[Device], dict[str, Any]]) -> None:
    made = device()
    added(yard.trainee, made)
    assert inside(try_in(made)) is not None
    for name, value in bend(made).items():
        setattr(made, name, value)
    client = try_in(made)
    assert inside(client) is None
    assert "does not sign you in" in client.get("/sign-in/").content.decode()
    assert LogEntry.objects.latest("seq").verb == "passkey.used"


def test_a_registration_signs_nobody_in(yard: Yard) -> None:
    made = device()
    added(yard.trainee, made)
    assert inside(try_in(made, type="webauthn.create")) is None


def test_a_challenge_is_answered_once(yard: Yard) -> None:
    made = device()
    added(yard.trainee, made)
    client = Client()
    options = client.post(OPTIONS).json()
    client.post(SIGN_IN, {"answer": made.get(options)})
    assert inside(client) is not None
    client.logout()
    client.post(SIGN_IN, {"answer": made.get(options)})
    assert inside(client) is None
    # A wrong answer uses it up as well.
    options = client.post(OPTIONS).json()
    client.post(SIGN_IN, {"answer": "{}"})
    client.post(SIGN_IN, {"answer": made.get(options)})
    assert inside(client) is None


def test_a_challenge_is_for_one_browser_one_purpose_and_five_minutes(
    yard: Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = device()
    client = added(yard.trainee, made)
    other = Client()
    other.post(OPTIONS)
    other.post(SIGN_IN, {"answer": made.get(Client().post(OPTIONS).json())})
    assert inside(other) is None
    options = client.post(NEW_OPTIONS).json()
    client.post(SIGN_IN, {"answer": made.get(options)})
    assert LogEntry.objects.latest("seq").verb == "passkey.added"
    now = time.time()
    for minutes, works in ((4, True), (6, False)):
        late = Client()
        options = late.post(OPTIONS).json()
        with monkeypatch.context() as patch:
            patch.setattr(time, "time", lambda at=now + 60 * minutes: at)
            late.post(SIGN_IN, {"answer": made.get(options)})
        assert (inside(late) is not None) is works


def test_a_closed_account(yard: Yard) -> None:
    made = device()
    added(yard.trainee, made)
    Person.objects.filter(pk=yard.trainee.pk).update(is_active=False)
    assert inside(try_in(made)) is None


@pytest.mark.parametrize(
    "bent",
    [
        {"flags": PRESENT},
        {"origin": "https://elsewhere.example"},
        {"rp_id": "elsewhere.example"},
        {"cross_origin": True},
        {"credential_id": bytes(1024)},
    ],
)
def test_a_passkey_that_cannot_be_added(yard: Yard, bent: dict[str, Any]) -> None:
    client = signed_in(yard.trainee)
    options = client.post(NEW_OPTIONS).json()
    answer = client.post(NEW, {"name": "My phone", "answer": device(**bent).create(options)})
    assert answer.status_code == 422
    assert 'value="My phone"' in answer.content.decode()
    assert not Passkey.objects.exists()


@pytest.mark.parametrize(
    ("name", "said"), [("", "by which you will know it"), ("x" * 101, "100"), (" ", "Write a name")]
)
def test_the_name(yard: Yard, name: str, said: str) -> None:
    client = signed_in(yard.trainee)
    answer = client.post(
        NEW, {"name": name, "answer": device().create(client.post(NEW_OPTIONS).json())}
    )
    assert answer.status_code == 422
    assert said in answer.content.decode()


def test_one_passkey_belongs_to_one_account(yard: Yard) -> None:
    made = device()
    added(yard.trainee, made)
    client = signed_in(yard.lead)
    answer = client.post(
        NEW, {"name": "Mine now", "answer": made.create(client.post(NEW_OPTIONS).json())}
    )
    assert answer.status_code == 422
    assert "known here already" in answer.content.decode()
    assert Passkey.objects.get().person == yard.trainee


def test_the_challenge_of_one_person_adds_nothing_to_another(yard: Yard) -> None:
    client = signed_in(yard.lead)
    options = client.post(NEW_OPTIONS).json()
    session = client.session
    kept = session[sessions.CHALLENGE]
    other = signed_in(yard.trainee)
    session = other.session
    session[sessions.CHALLENGE] = kept
    session.save()
    answer = other.post(NEW, {"name": "Phone", "answer": device().create(options)})
    assert answer.status_code == 422


def test_only_so_many(yard: Yard) -> None:
    for number in range(20):
        Passkey.objects.create(
            person=yard.trainee, name="Old", credential_id=bytes([number]), public_key=b"k"
        )
    client = signed_in(yard.trainee)
    answer = client.post(
        NEW, {"name": "One more", "answer": device().create(client.post(NEW_OPTIONS).json())}
    )
    assert "remove one" in answer.content.decode()
    assert Passkey.objects.count() == 20


def test_adding_one_asks_for_a_fresh_sign_in(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> None:
    client = signed_in(yard.trainee)
    assert "Sign in again first" not in client.get(NEW).content.decode()
    later = time.time() + 16 * 60
    monkeypatch.setattr(time, "time", lambda: later)
    assert "Sign in again first" in client.get(NEW).content.decode()
    options = client.post(NEW_OPTIONS).json()
    answer = client.post(NEW, {"name": "Phone", "answer": device().create(options)})
    assert answer.status_code == 422
    assert not Passkey.objects.exists()


def test_nobody_removes_anothers(yard: Yard) -> None:
    added(yard.trainee, device())
    key = Passkey.objects.get().pk
    assert signed_in(yard.lead).post(f"/account/passkeys/{key}/remove/").status_code == 404
    assert Passkey.objects.exists()


@pytest.mark.parametrize("address", ["http://127.0.0.1:8000", "http://records.example.org"])
def test_where_browsers_allow_none_it_is_said(yard: Yard, settings: Any, address: str) -> None:
    settings.BASE_URL = address
    client = signed_in(yard.trainee)
    assert "browsers allow them only" in client.get(NEW).content.decode()
    assert SIGN_IN not in Client().get("/sign-in/").content.decode()
    settings.BASE_URL = "http://localhost:8000"
    assert SIGN_IN in Client().get("/sign-in/").content.decode()


WHOLE = json.loads(device().create({"user": {"id": b64(b"h")}, "challenge": b64(bytes(32))}))
json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(max_size=8),
    lambda each: (
        st.lists(each, max_size=3) | st.dictionaries(st.text(max_size=8), each, max_size=3)
    ),
    max_leaves=8,
)


@given(
    changed=st.fixed_dictionaries(
        {},
        optional={
            "clientDataJSON": st.binary(max_size=60).map(b64) | json_values,
            "attestationObject": st.binary(max_size=200).map(b64) | json_values,
        },
    ),
    outer=st.dictionaries(st.sampled_from(["id", "rawId", "type", "response"]), json_values),
)
@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_rubbish_is_refused_and_never_breaks(changed: Any, outer: Any) -> None:
    answer = {**WHOLE, "response": {**WHOLE["response"], **changed}, **outer}
    with pytest.raises(WrongAnswerError):
        checked_addition(json.dumps(answer), b"another challenge")


@pytest.mark.parametrize("answer", ["", "[]", "[" * 15_000, '"\\ud800"', "x" * 20_001, "{}", "1"])
def test_rubbish_that_is_no_answer(answer: str) -> None:
    with pytest.raises(WrongAnswerError):
        checked_addition(answer, bytes(32))
    with pytest.raises(WrongAnswerError):
        read_answer(answer)


def test_an_attestation_cut_short(yard: Yard) -> None:
    client = signed_in(yard.trainee)
    options = client.post(NEW_OPTIONS).json()
    whole = json.loads(device().create(options))
    whole["response"]["attestationObject"] = whole["response"]["attestationObject"][:-40]
    answer = client.post(NEW, {"name": "Phone", "answer": json.dumps(whole)})
    assert answer.status_code == 422
    assert not Passkey.objects.exists()
