"""Photographs on a device: made small, told of no place, kept whole."""

import base64
import hashlib
import io
import os
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from assessments.photographs import check_photograph
from tests.browser.site.photographs import (
    HEIC,
    PLACE,
    SMALL,
    Device,
    answering,
    photograph,
    taken,
)
from tests.faults.marks import only_at_length

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


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


@only_at_length
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


@only_at_length
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


@only_at_length
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


@only_at_length
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
