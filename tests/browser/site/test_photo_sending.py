"""Photographs are sent after their events, and count as sent only by the server's own word."""

import hashlib
import uuid
from datetime import UTC, datetime
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Route

from assessments.actions.site.packs import take_pack
from assessments.models import Photo, PhotoBytes, SetAside
from assessments.queries.site.pack_document import pack_document
from tests.assessments.builders import make_yard
from tests.browser.site.photographs import SMALL, Answer, Device, answering, photograph, taken
from tests.factories import enrol, make_person
from tests.faults.marks import only_at_length

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_bytes_are_sent_only_after_their_event_and_as_they_are(device: Device) -> None:
    device.page.context.add_cookies(
        [{"name": "sessionid", "value": "secret", "url": device.page.url}]
    )
    sent = answering(device.page, taken)
    event = device.take(photograph(SMALL))["event"]
    assert device.send() == {"sent": 0, "refused": 0, "left": 0, "stopped": None}
    assert sent == []

    device.acknowledge()
    assert device.send() == {"sent": 1, "refused": 0, "left": 0, "stopped": None}

    [request] = sent
    assert request.method == "PUT"
    assert request.url.endswith(f"/site/photos/{event['sha256']}/")
    body = request.post_data_buffer
    assert body is not None
    assert hashlib.sha256(body).hexdigest() == event["sha256"]
    headers = request.all_headers()
    assert headers["authorization"] == "Pack a-token"
    assert headers["content-type"] == "image/jpeg"
    assert "cookie" not in headers
    [row] = device.kept()["photos"]
    assert row["sent"] == 1


def saying(status: int, **what: Any) -> Answer:
    return lambda route, sha: route.fulfill(status=status, **what)


NO_ACKNOWLEDGEMENTS: dict[str, tuple[Answer, int, str]] = {
    "another digest": (saying(200, json={"sha256": "f" * 64}), 200, "no reason"),
    "a page": (
        lambda route, sha: route.fulfill(body=f'{{"sha256": "{sha}"}}', content_type="text/html"),
        200,
        "no reason",
    ),
    "201": (lambda route, sha: route.fulfill(status=201, json={"sha256": sha}), 201, "no reason"),
    "half": (saying(200, body='{"sha256"', content_type="application/json"), 200, "no reason"),
    "redirect": (saying(302, headers={"Location": "/sign-in/"}), 0, "connection"),
    "no signal": (lambda route, sha: route.abort(), 0, "connection"),
    "busy": (saying(503, body="busy"), 503, "503"),
    "a network's own 403": (saying(403, body="<h1>Pay first</h1>"), 403, "no reason"),
    "broke off": (saying(400, json={"sentence": "Send it again."}), 400, "again"),
    "token": (saying(401, json={"sentence": "Take the run up anew."}), 401, "anew"),
}


def test_only_the_servers_own_word_counts_and_the_rest_waits(device: Device) -> None:
    device.take(photograph(SMALL))
    device.take(photograph(SMALL, seed=2))
    device.take(photograph(SMALL, seed=3))
    device.acknowledge()
    before = device.kept()
    for name, (answer, status, word) in NO_ACKNOWLEDGEMENTS.items():
        sent = answering(device.page, answer)

        outcome = device.send()

        assert (outcome["sent"], outcome["refused"], outcome["left"]) == (0, 0, 3), name
        assert outcome["stopped"]["status"] == status, name
        assert word in outcome["stopped"]["sentence"], name
        assert len(sent) == 2, name  # both at once, then no more
        assert device.kept() == before, name


@only_at_length
def test_the_servers_wish_to_wait_is_passed_on(device: Device) -> None:
    answering(
        device.page,
        lambda route, sha: route.fulfill(
            status=429, headers={"Retry-After": "120"}, json={"sentence": "Too many at once."}
        ),
    )
    device.take(photograph(SMALL))
    device.acknowledge()
    assert device.send()["stopped"] == {
        "status": 429,
        "sentence": "Too many at once.",
        "retryAfter": 120,
    }


def test_what_the_server_refuses_is_kept_shown_and_does_not_hold_up_the_rest(
    device: Device,
) -> None:
    bad = device.take(photograph(SMALL))["event"]["sha256"]
    device.take(photograph(SMALL, seed=2))
    device.acknowledge()

    def but_one(route: Route, sha: str) -> None:
        if sha == bad:
            route.fulfill(status=422, json={"sentence": "The photograph is cut short."})
        else:
            taken(route, sha)

    sent = answering(device.page, but_one)
    assert device.send() == {"sent": 1, "refused": 1, "left": 1, "stopped": None}
    assert len(sent) == 2
    held = {row["sha256"]: row for row in device.kept()["photos"]}
    assert held[bad]["sent"] == 0
    assert held[bad]["bytes"]
    assert held[bad]["refused"]["sentence"] == "The photograph is cut short."

    assert device.send() == {"sent": 0, "refused": 1, "left": 1, "stopped": None}
    assert len(sent) == 2, "not again within the hour"
    answering(device.page, taken)
    assert device.send(again=True)["sent"] == 1


@only_at_length
def test_a_photograph_over_which_the_server_breaks_holds_up_no_other(device: Device) -> None:
    bad = device.take(photograph(SMALL))["event"]["sha256"]
    for seed in (2, 3):
        device.take(photograph(SMALL, seed=seed))
    device.acknowledge()

    def break_over(route: Route, sha: str) -> None:
        if sha == bad:
            route.fulfill(status=500, body="Server Error")
        else:
            taken(route, sha)

    sent = answering(device.page, break_over)
    turns = [device.send(), device.send()]

    assert sum(turn["sent"] for turn in turns) == 2
    assert turns[1]["stopped"]["status"] == 500
    assert sent[-1].url.rstrip("/").endswith(bad)
    [held] = [row for row in device.kept()["photos"] if row["sent"] == 0]
    assert (held["sha256"], bool(held["bytes"])) == (bad, True)


def test_the_outbox_brings_event_and_bytes_to_the_server(
    context: BrowserContext, site: str
) -> None:
    yard = make_yard()
    enrol(yard.run, make_person("Second Trainee"))
    device = Device(context.new_page(), site)
    own = uuid.UUID(device.run("return (await db.device()).device;"))
    pack = pack_document(take_pack(actor=yard.instructor, run=yard.run, device=own))
    device.hold(pack, pack["trainees"][0]["attempt"])
    event = device.take(photograph())["event"]

    device.run(
        """const { startOutbox } = await import("/static/site/outbox.js");
        await new Promise((resolve) => {
            startOutbox(db, {
                onChange: ({ state, unsentPhotos }) => {
                    if (state !== "sending" && unsentPhotos === 0) resolve();
                },
            });
        });"""
    )

    photo = Photo.objects.get()
    assert (str(photo.pk), photo.sha256) == (event["id"], event["sha256"])
    assert (photo.subject_key, photo.width, photo.height) == ("C3", 1200, 1600)
    assert photo.claimed_at == datetime(2026, 11, 3, 15, 15, tzinfo=UTC)
    with PhotoBytes.objects.get().file.open("rb") as file:
        assert hashlib.sha256(file.read()).hexdigest() == event["sha256"]
    assert not SetAside.objects.exists()
