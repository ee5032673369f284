"""The addresses that devices use: packs, their tokens, and batches of events."""

import json
import uuid
from datetime import timedelta
from typing import Any

import pytest
from django.db import OperationalError
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from assessments.actions.site.packs import close_pack, token_of
from assessments.models import Attempt, Observation, Pack, SetAside
from assessments.views.site import api
from tests.assessments.builders import GOOD, Yard, make_yard
from tests.assessments.site.builders import Device, take_up
from tests.factories import make_person
from training.models import Person

EVENTS = "/site/events/"


def signed_in(person: Person) -> Client:
    client = Client(enforce_csrf_checks=True)
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    return client


def post(client: Client, address: str, body: object) -> Any:
    """Post JSON as the device's scripts do: with the CSRF cookie's value in its header."""
    client.get(reverse("site_packs"))
    token = client.cookies["csrftoken"].value
    return client.post(
        address, json.dumps(body), content_type="application/json", headers={"X-CSRFToken": token}
    )


def send(device: Device, events: list[Any], **changes: Any) -> Any:
    """Send a batch with the pack's token, without any cookie."""
    parts = {
        "token": token_of(device.pack),
        "data": json.dumps({"pack": str(device.pack.pk), "events": events}),
        "type": "application/json",
        **changes,
    }
    return Client(enforce_csrf_checks=True).post(
        EVENTS,
        parts["data"],
        content_type=parts["type"],
        headers={"Authorization": f"Pack {parts['token']}"},
    )


@pytest.mark.django_db
def test_runs_packs_events_and_renewal_end_to_end() -> None:
    yard = make_yard()
    client = signed_in(yard.instructor)
    listed = client.get(reverse("site_packs")).json()
    assert listed["assessor"] == {"id": str(yard.instructor.pk), "name": str(yard.instructor)}
    [run] = listed["runs"]
    assert (run["id"], run["trainees"]) == (str(yard.run.pk), 1)
    asked = {"run": run["id"], "device": str(uuid.uuid4()), "attempts": True}
    response = post(client, reverse("site_packs"), asked)
    assert response.status_code == 200
    assert "no-store" in response.headers["Cache-Control"]
    document = response.json()
    assert document["schema"] == "bankermark/pack/1"
    device = Device(yard, Pack.objects.get(pk=document["id"]))
    sent = device.event("C1", {"level": 2})
    answered = send(device, [sent, 5], token=document["token"])
    assert answered.status_code == 200
    assert "no-store" in answered.headers["Cache-Control"]
    stored, aside = answered.json()["results"]
    assert stored == {"id": sent["id"], "result": "stored", "reason": None, "sentence": None}
    assert (aside["id"], aside["place"], aside["reason"]) == (None, 1, "unreadable")
    assert Observation.objects.get().assessor == yard.instructor
    Pack.objects.update(expires_at=timezone.now() + timedelta(seconds=1))
    renewed = post(client, reverse("site_pack_renew", args=[document["id"]]), {}).json()
    assert renewed["expires_at"] == document["expires_at"]
    assert send(device, [sent], token=renewed["token"]).json()["results"][0]["result"] == "already"


@pytest.mark.django_db
def test_a_pack_is_taken_only_with_the_csrf_token() -> None:
    yard = make_yard()
    asked = {"run": str(yard.run.pk), "device": str(uuid.uuid4())}
    response = signed_in(yard.instructor).post(
        reverse("site_packs"), json.dumps(asked), content_type="application/json"
    )
    assert response.status_code == 403
    assert not Pack.objects.exists()


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("change", "status", "says"),
    [
        ({"run": str(uuid.uuid4())}, 404, "no such run"),
        ({"run": 5}, 422, "run as a UUID"),
        ({"device": "phone"}, 422, "device as a UUID"),
    ],
)
def test_what_cannot_be_taken_up_is_said(change: dict[str, object], status: int, says: str) -> None:
    yard = make_yard()
    asked = {"run": str(yard.run.pk), "device": str(uuid.uuid4()), **change}
    response = post(signed_in(yard.instructor), reverse("site_packs"), asked)
    assert response.status_code == status
    assert says in response.json()["sentence"]
    assert not Pack.objects.exists()


@pytest.mark.django_db
def test_who_may_not_take_a_run_up() -> None:
    yard = make_yard()
    asked = {"run": str(yard.run.pk), "device": str(uuid.uuid4())}
    for person in (yard.trainee, make_person(), make_yard().lead):
        client = signed_in(person)
        assert post(client, reverse("site_packs"), asked).status_code == 404
        assert str(yard.run.pk) not in client.get(reverse("site_packs")).content.decode()
    nobody = Client().get(reverse("site_packs"))
    assert (nobody.status_code, list(nobody.json())) == (401, ["sentence"])
    pack = take_up(yard).pack
    other = post(signed_in(yard.lead), reverse("site_pack_renew", args=[pack.pk]), {})
    assert other.status_code == 404


@pytest.mark.django_db
def test_a_token_that_does_not_count_is_401_with_its_sentence() -> None:
    device = take_up()
    sent = [device.event("C1", {"level": 2})]
    token = token_of(device.pack)
    forged = token[:-1] + ("A" if token[-1] != "A" else "B")
    for wrong in (forged, "", "x", token.split(":")[0]):
        response = send(device, sent, token=wrong)
        assert response.status_code == 401
        assert "does not know" in response.json()["sentence"]
    Pack.objects.update(
        taken_at=timezone.now() - timedelta(days=2), expires_at=timezone.now() - timedelta(hours=1)
    )
    response = send(device, sent)
    assert (response.status_code, "may no longer send" in response.json()["sentence"]) == (
        401,
        True,
    )
    close_pack(actor=device.yard.lead, pack=device.pack)
    response = send(device, sent)
    assert (response.status_code, "was closed" in response.json()["sentence"]) == (401, True)
    assert not Observation.objects.exists()
    assert not SetAside.objects.exists()


@pytest.mark.django_db
def test_a_session_alone_sends_nothing() -> None:
    device = take_up()
    client = signed_in(device.yard.instructor)
    response = client.post(EVENTS, "{}", content_type="application/json")
    assert response.status_code == 401


@pytest.mark.django_db
def test_what_is_too_much_or_no_json_is_said_and_stored_nowhere() -> None:
    device = take_up()
    fine = json.dumps({"pack": str(device.pack.pk), "events": [device.event("C1", GOOD["C1"])]})
    cases: list[tuple[dict[str, Any], int]] = [
        ({"data": fine, "type": "text/plain"}, 415),
        ({"data": fine + " " * api.LARGEST_BATCH}, 413),
        ({"data": fine[:-1]}, 422),
        ({"data": "[" * 100_000}, 422),
        ({"data": '{"events": NaN}'}, 422),
        ({"data": b"\xff"}, 422),
        ({"data": json.dumps({"pack": str(uuid.uuid4()), "events": []})}, 422),
        ({"data": json.dumps({"pack": str(device.pack.pk), "events": {}})}, 422),
    ]
    for changes, status in cases:
        response = send(device, [], **changes)
        assert (response.status_code, list(response.json())) == (status, ["sentence"])
    most = send(device, [None] * (api.MOST_EVENTS + 1))
    assert most.status_code == 413
    assert Client().get(EVENTS).status_code == 405
    assert not Observation.objects.exists()
    assert not SetAside.objects.exists()


@pytest.mark.django_db
def test_whatever_one_event_holds_the_others_are_stored() -> None:
    device = take_up()
    fine = json.dumps(device.event("C1", {"level": 2}))
    deep = "[" * 300 + "]" * 300
    odd = [
        '{"id": "huge", "seq": ' + "9" * 5000 + "}",
        '{"id": "endless", "seq": 1e999}',
        '{"id": "deep", "value": ' + deep + "}",
        r'{"id": "half", "note": "\ud800"}',
        r'{"id": "nul", "note": "\u0000", "\u0000": 1}',
    ]
    data = f'{{"pack": "{device.pack.pk}", "events": [{",".join([*odd, fine])}]}}'
    results = send(device, [], data=data).json()["results"]
    assert [each["result"] for each in results] == ["aside"] * 5 + ["stored"]
    assert [each["id"] for each in results[:5]] == ["huge", "endless", "deep", "half", "nul"]
    assert SetAside.objects.count() == 5


@pytest.mark.django_db
def test_a_database_that_asks_for_another_try_is_503(monkeypatch: pytest.MonkeyPatch) -> None:
    def deadlock(*_: object) -> None:
        raise OperationalError("deadlock detected")

    device = take_up()
    monkeypatch.setattr(api, "receive_sent", deadlock)
    response = send(device, [])
    assert response.status_code == 503
    assert response.headers["Retry-After"] == "5"


@pytest.mark.django_db
def test_an_assessor_who_left_still_sends_and_renews() -> None:
    device = take_up()
    sent = device.event("C1", {"level": 2})
    device.yard.run.instructors.clear()
    [result] = send(device, [sent]).json()["results"]
    assert (result["result"], result["reason"]) == ("aside", "no_authority")
    renew = reverse("site_pack_renew", args=[device.pack.pk])
    assert post(signed_in(device.yard.instructor), renew, {}).status_code == 200
    assert Attempt.objects.get().observations.count() == 0


@pytest.mark.django_db
def test_a_run_that_is_not_open_is_not_taken_up() -> None:
    yard: Yard = make_yard()
    type(yard.run).objects.update(state="closed")
    asked = {"run": str(yard.run.pk), "device": str(uuid.uuid4())}
    response = post(signed_in(yard.instructor), reverse("site_packs"), asked)
    assert response.status_code == 422
    assert "closed" in response.json()["sentence"]


@pytest.mark.django_db
def test_a_script_without_the_pages_token_is_answered_in_json() -> None:
    device = take_up()
    asked = json.dumps({"run": str(device.yard.run.pk), "device": str(uuid.uuid4())})
    addresses = [reverse("site_packs"), reverse("site_pack_renew", args=[device.pack.pk])]
    before = Pack.objects.values_list("pk", "expires_at").get()
    for address in addresses:
        for client, status, said in (
            (signed_in(device.yard.instructor), 403, "older than your sign-in"),
            (Client(enforce_csrf_checks=True), 401, "Sign in"),
        ):
            response = client.post(address, asked, content_type="application/json")
            assert (response.status_code, response["Content-Type"]) == (status, "application/json")
            assert said in response.json()["sentence"]
    # Signed out, with the token of a page that was open before.
    client = signed_in(device.yard.instructor)
    client.get(reverse("site_packs"))
    client.cookies.pop("sessionid")
    response = client.post(
        addresses[0],
        asked,
        content_type="application/json",
        headers={"X-CSRFToken": client.cookies["csrftoken"].value},
    )
    assert (response.status_code, list(response.json())) == (401, ["sentence"])
    assert Pack.objects.values_list("pk", "expires_at").get() == before


@pytest.mark.django_db
def test_a_page_without_its_token_is_answered_by_a_page() -> None:
    device = take_up()
    client = signed_in(device.yard.lead)
    response = client.post(reverse("pack_close", args=[device.pack.pk]))
    assert response.status_code == 403
    assert response["Content-Type"].startswith("text/html")
    assert Pack.objects.get().closed_at is None
