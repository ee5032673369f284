"""Photographs on a device: made small, told of no place, kept whole, and sent after the events."""

import base64
import hashlib
import io
import os
import uuid
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from playwright.sync_api import Browser, BrowserContext, Page, Request, Route, expect

from assessments.actions.site.packs import take_pack
from assessments.models import Pack, Photo, PhotoBytes, SetAside
from assessments.photographs import check_photograph
from assessments.queries.site.pack_document import pack_document
from tests.assessments.builders import make_yard
from tests.browser.site.photographs import PLACE, Device, as_file, photograph
from tests.browser.site.scoring import Scorer, World, phone_of
from tests.factories import enrol, make_person
from tests.faults.chromium import own_chromium

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
SMALL = (800, 600)
HEIC = b"\0\0\0\x18ftypheic\0\0\0\0mif1heic" + bytes(200)  # ISO 14496-12, 4.3; no picture in it


@pytest.fixture
def context(chromium: Browser) -> Iterator[BrowserContext]:
    context = chromium.new_context(
        viewport={"width": 360, "height": 740}, timezone_id="America/New_York"
    )
    yield context
    context.close()


@pytest.fixture
def device(context: BrowserContext, site: str) -> Device:
    return Device(context.new_page(), site)


def test_a_photo_is_small_upright_and_tells_nothing_but_the_picture(device: Device) -> None:
    original = photograph()
    with Image.open(io.BytesIO(original)) as image:
        assert image.size == (4000, 3000)
        assert image.getexif().get_ifd(0x8825)

    event = device.take(original)["event"]

    [row] = device.kept()["photos"]
    kept = base64.b64decode(row["bytes"])
    assert hashlib.sha256(kept).hexdigest() == event["sha256"] == row["sha256"]
    assert len(kept) == event["size"] <= 250_000
    with Image.open(io.BytesIO(kept)) as image:
        assert image.format == "JPEG"
        assert image.size == (1200, 1600) == (event["width"], event["height"])
        assert is_red(image.getpixel((1150, 50)))
        assert not is_red(image.getpixel((50, 50)))
        assert not image.getexif()
        assert "exif" not in image.info
        assert "comment" not in image.info
    assert b"Exif" not in kept
    assert check_photograph(kept) == (1200, 1600)  # what the server asks of one
    thumb = base64.b64decode(row["thumb"])
    with Image.open(io.BytesIO(thumb)) as image:
        assert image.size == (180, 240)
    assert b"Exif" not in thumb


def test_a_photo_that_is_hard_to_make_small_loses_pixels_and_not_its_shape(
    device: Device,
) -> None:
    event = device.take(photograph((2400, 1600), grain=1))["event"]

    assert event["size"] <= 250_000
    assert 1 < event["width"] < event["height"] < 1600
    assert event["height"] / event["width"] == pytest.approx(1.5, abs=0.01)


def test_a_photo_that_is_small_already_is_not_blown_up(device: Device) -> None:
    event = device.take(photograph(SMALL))["event"]
    assert (event["width"], event["height"]) == (600, 800)


def is_red(pixel: Any) -> bool:
    red, green, blue = pixel
    return bool(red > 150 and green < 80 and blue < 80)


CLAIMS = [
    ("2026:11:03 10:15:00", "+01:00", "2026-11-03T09:15:00+00:00", "camera"),
    # In New York the summer's offset is -04:00, the winter's -05:00.
    ("2026:07:03 10:15:00", None, "2026-07-03T14:15:00+00:00", "camera_without_zone"),
    ("2026:11:03 10:15:00", None, "2026-11-03T15:15:00+00:00", "camera_without_zone"),
    ("2026:11:31 10:15:00", None, "2026-10-01T08:30:00+00:00", "file"),
    (None, None, "2026-10-01T08:30:00+00:00", "file"),
]


def test_the_claimed_time_is_kept_and_whose_it_is(device: Device, tmp_path: Path) -> None:
    path = tmp_path / "photo.jpg"
    saved = datetime(2026, 10, 1, 8, 30, tzinfo=UTC).timestamp()
    for taken_at, offset, at, source in CLAIMS:
        path.write_bytes(photograph(SMALL, taken=taken_at, offset=offset))
        os.utime(path, (saved, saved))

        event = device.take(path)["event"]

        assert datetime.fromisoformat(event["claimed_at"]) == datetime.fromisoformat(at)
        assert event["claimed_from"] == source
        assert event["device_zone"] == "America/New_York"


def test_photo_event_and_end_of_intent_survive_a_reload(device: Device) -> None:
    device.run("await photos.intent(db, place);")
    assert len(device.kept()["intents"]) == 1
    event = device.take(photograph(SMALL))["event"]
    before = device.kept()

    device.page.reload()

    after = device.kept()
    assert after == before
    assert after["events"] == [event]
    assert event["seq"] == 1
    assert (event["kind"], event["sent"]) == ("photo", 0)
    assert [row["sha256"] for row in after["photos"]] == [event["sha256"]]
    assert after["intents"] == []


def test_the_same_photo_twice_is_two_events_and_kept_and_sent_once(device: Device) -> None:
    sent = answering(device.page, taken)
    first, second = (device.take(photograph(SMALL))["event"] for _ in range(2))
    assert first["sha256"] == second["sha256"]
    assert (first["seq"], second["seq"]) == (1, 2)
    assert len(device.kept()["photos"]) == 1

    device.acknowledge()
    assert device.send()["sent"] == 1
    third = device.take(photograph(SMALL))["event"]
    device.acknowledge()
    assert device.send() == {"sent": 0, "refused": 0, "left": 0, "stopped": None}

    assert third["sha256"] == first["sha256"]
    assert len(sent) == 1
    shown = device.run("return await photos.photosOf(db, place.attempt, place.subject);")
    assert [row["sha256"] for row in shown] == [first["sha256"]]


def test_photos_are_those_of_the_subject(device: Device) -> None:
    device.take(photograph(SMALL))
    ask = "return await photos.photosOf(db, argument.attempt, argument.subject);"
    assert len(device.run(ask, PLACE)) == 1
    assert device.run(ask, {**PLACE, "attempt": "elsewhere"}) == []
    assert device.run(ask, {**PLACE, "subject": {"kind": "hold_point", "key": "C3"}}) == []
    assert device.run(ask, {**PLACE, "subject": {"kind": "criterion", "key": "C4"}}) == []


NO_PICTURES = [
    (b"Bed joint: raked, not struck.", "unreadable", "not a picture"),
    (b"", "unreadable", "not a picture"),
    (photograph(SMALL)[:700], "unreadable", "not a picture"),
    (HEIC, "heic", "HEIC"),
    (photograph((1600, 12)), "small", "12 × 1600"),
]


def test_what_is_no_picture_is_said_and_loses_nothing(device: Device) -> None:
    device.take(photograph(SMALL))
    device.run("await photos.intent(db, place);")
    before = device.kept()
    for file, kind, word in NO_PICTURES:
        error = device.take(file)["error"]

        assert (error["name"], error["kind"]) == ("PhotoError", kind)
        assert word in error["said"]
        assert device.kept() == before
    assert len(before["intents"]) == 1


def test_an_intent_is_shown_when_the_browser_was_killed_with_the_camera_open(
    site: str, tmp_path: Path
) -> None:
    with own_chromium(tmp_path / "profile") as chromium:
        Device(chromium.page(), site).run("await photos.intent(db, place);")
        chromium.kill()

        again = Device(chromium.page(), site)

        [row] = again.kept()["intents"]
        assert row["sentence"] == "A photo of Bed joint of Søren Tårnby may be missing."
        named = (row["attempt"], row["subject"], row["stage"])
        assert named == (PLACE["attempt"], PLACE["subject"], PLACE["stage"])
        again.run("await photos.noPhoto(db, place);")
        assert again.kept()["intents"] == []


NO_ROOM = """
    const put = IDBObjectStore.prototype.put;
    let times = argument;
    IDBObjectStore.prototype.put = function (value) {
        if (value.sha256 && value.bytes && times-- > 0)
            throw new DOMException("full", "QuotaExceededError");
        return put.apply(this, arguments);
    };
    try {
        return await photos.takePhoto(db, { ...place, file: file() })
            .then((event) => ({ event }), (error) => ({ error: told(error) }));
    } finally {
        IDBObjectStore.prototype.put = put;
    }
"""


def test_without_room_neither_photo_nor_event_is_kept_and_it_is_said(device: Device) -> None:
    device.run("await photos.intent(db, place);")
    device.choose(photograph(SMALL))

    error = device.run(NO_ROOM, 1000)["error"]

    assert (error["name"], error["kind"]) == ("StoreError", "quota")
    assert error["said"] == (
        "There is no room left on this device. Send what is on it first, then go on."
    )
    kept = device.kept()
    assert (kept["events"], kept["photos"]) == ([], [])
    assert len(kept["intents"]) == 1


def test_room_is_made_by_letting_go_of_what_the_server_has(device: Device) -> None:
    answering(device.page, taken)
    sent = device.take(photograph(SMALL))["event"]
    device.acknowledge()
    device.send()
    waiting = device.take(photograph(SMALL, seed=2))["event"]
    device.choose(photograph(SMALL, seed=3))

    event = device.run(NO_ROOM, 1)["event"]

    held = {row["sha256"]: row for row in device.kept()["photos"]}
    assert held[sent["sha256"]]["bytes"] is None
    assert held[sent["sha256"]]["thumb"]
    assert held[waiting["sha256"]]["bytes"]
    assert held[event["sha256"]]["bytes"]
    assert event["seq"] == 3


# Sending

Answer = Callable[[Route, str], None]


def answering(page: Page, answer: Answer) -> list[Request]:
    """Answer for the server; return the list in which the requests are noted."""
    noted: list[Request] = []

    def handle(route: Route) -> None:
        noted.append(route.request)
        answer(route, route.request.url.rstrip("/").rsplit("/", 1)[1])

    page.context.unroute("**/site/photos/**")
    page.context.route("**/site/photos/**", handle)
    return noted


def taken(route: Route, sha256: str) -> None:
    route.fulfill(json={"sha256": sha256})


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
    device.acknowledge()
    before = device.kept()
    for name, (answer, status, word) in NO_ACKNOWLEDGEMENTS.items():
        sent = answering(device.page, answer)

        outcome = device.send()

        assert (outcome["sent"], outcome["refused"], outcome["left"]) == (0, 0, 2), name
        assert outcome["stopped"]["status"] == status, name
        assert word in outcome["stopped"]["sentence"], name
        assert len(sent) == 1, name
        assert device.kept() == before, name


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


def test_the_outbox_brings_event_and_bytes_to_the_server(
    context: BrowserContext, site: str
) -> None:
    yard = make_yard()
    enrol(yard.run, make_person("Second Trainee"))
    pack = pack_document(take_pack(actor=yard.instructor, run=yard.run, device=uuid.uuid4()))
    device = Device(context.new_page(), site, pack, pack["trainees"][0]["attempt"])
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


# The slot on the screen


@pytest.fixture
def slot(device: Device) -> Page:
    """A page with a slot on it, whose database stays open; problems are thrown by the browser."""
    open_slot(device.page)
    return device.page


def open_slot(page: Page) -> None:
    page.evaluate(
        """async (place) => {
            const { photoSlot } = await import("/static/site/photo_slot.js");
            const { openDb } = await import("/static/site/db.js");
            window.db = await openDb();
            window.kept = 0;
            window.slot = photoSlot(window.db, {
                ...place, title: "Bed joint", onChange: () => { window.kept += 1; },
            });
            document.querySelector("main").replaceChildren(window.slot.element);
            await window.slot.refresh();
        }""",
        PLACE,
    )


def shoot(page: Page, key: str, file: bytes) -> None:
    with page.expect_file_chooser() as chooser:
        page.get_by_role("button", name=key).click()
    chooser.value.set_files(as_file(file))


def test_the_slot_takes_and_shows_a_photo(slot: Page) -> None:
    complaints: list[str] = []
    slot.on("console", lambda said: complaints.append(said.text))
    shoot(slot, "Take a photo of Bed joint", photograph(SMALL))

    picture = slot.get_by_role("img", name="Photo of Bed joint, 10:15")
    expect(picture).to_be_visible()
    assert (
        picture.evaluate("async (img) => { await img.decode(); return img.naturalWidth; }") == 180
    )
    expect(slot.get_by_text("by the camera's clock. Not sent yet.")).to_be_visible()
    expect(slot.get_by_text("may be missing")).to_have_count(0)
    assert slot.evaluate("() => window.kept") == 1
    address = picture.get_attribute("src")
    slot.evaluate("() => window.slot.release()")
    assert (
        slot.evaluate(
            """async (src) => {
            const image = new Image();
            image.src = src;
            return await image.decode().then(() => "still held", () => "let go");
        }""",
            address,
        )
        == "let go"
    )
    assert [said for said in complaints if "Content Security Policy" in said] == []


def test_the_slot_says_what_is_no_picture_and_takes_no_for_an_answer(slot: Page) -> None:
    shoot(slot, "Take a photo of Bed joint", HEIC)
    expect(slot.get_by_role("alert")).to_contain_text("HEIC format")
    expect(slot.get_by_role("img")).to_have_count(0)

    slot.reload()
    open_slot(slot)
    expect(slot.get_by_text("A photo of Bed joint of Søren Tårnby may be missing.")).to_be_visible()
    shoot(slot, "Take it again", photograph(SMALL))
    expect(slot.get_by_role("img")).to_have_count(1)
    expect(slot.get_by_text("may be missing")).to_have_count(0)

    shoot(slot, "Take a photo of Bed joint", b"no picture")
    slot.get_by_role("button", name="No photo").click()
    expect(slot.get_by_role("alert")).to_have_count(0)
    expect(slot.get_by_role("img")).to_have_count(1)


def test_the_first_screen_asks_after_what_may_be_missing(slot: Page) -> None:
    slot.evaluate(
        """async (place) => {
            const { intent } = await import("/static/site/photos.js");
            const { missingPhotos } = await import("/static/site/photo_slot.js");
            await intent(window.db, place);
            await intent(window.db, { ...place, attempt: "of somebody else" });
            const main = document.querySelector("main");
            main.replaceChildren(missingPhotos(window.db, [place.pack], console.error));
        }""",
        PLACE,
    )
    asked = slot.get_by_text("may be missing")
    expect(asked).to_have_text(["A photo of Bed joint of Søren Tårnby may be missing."])
    expect(slot.get_by_role("link", name="Take it again")).to_have_attribute(
        "href", f"#/attempt/{PLACE['attempt']}/criterion/C3"
    )
    slot.get_by_role("button", name="No photo").click()
    expect(asked).to_have_count(0)


def test_on_the_scoring_pages_without_a_signal(chromium: Browser, site: str) -> None:
    world = World()
    context = phone_of(chromium)
    scorer = Scorer(context, site)
    scorer.sign_in(world.instructor)
    scorer.take()
    context.set_offline(True)
    scorer.open(f"attempt/{world.attempt().pk}/criterion/work_safe")
    take = scorer.page.get_by_role("button", name="Take a photo of")
    with scorer.page.expect_file_chooser():
        take.click()
    scorer.page.close()  # with the camera open

    page = context.new_page()
    page.goto(f"{site}/site/#/pack/{Pack.objects.get().pk}")
    expect(page.get_by_text("may be missing")).to_be_visible()
    page.get_by_role("link", name="Take it again").click()
    expect(page.get_by_text("may be missing")).to_be_visible()
    shoot(page, "Take it again", photograph(SMALL))
    expect(page.get_by_role("img", name="Photo of")).to_be_visible()
    expect(page.get_by_text("Not sent yet.")).to_be_visible()
    expect(page.get_by_text("may be missing")).to_have_count(0)

    context.set_offline(False)
    expect(page.get_by_text("camera's clock. Sent.")).to_be_visible()
    assert PhotoBytes.objects.get().sha256 == Photo.objects.get().sha256
    context.close()
