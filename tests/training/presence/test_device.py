"""What an instructor's device sends: stored once, refused rows kept, its clock told.

The status codes are those of RFC 9110; the form of the answers is this product's own.
"""

import json
import uuid
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from tests.factories import enrol, make_person
from tests.training.presence.builders import HOUR, MINUTE, make_session, note
from tests.training.presence.test_pages import now_session, signed_in
from tests.training.yard import Yard
from training.actions.attendance_sent import receive_presence
from training.models import Attendance, LogEntry, Session
from training.queries.hours import presence

JSON = "application/json"


def row(yard: Yard, session: Session, **fields: Any) -> dict[str, Any]:
    """A row as a device sends it."""
    values = {
        "id": str(uuid.uuid4()),
        "session": str(session.pk),
        "person": str(yard.trainee.pk),
        "kind": "came",
        "at": "2026-11-29T08:02:00.000-05:00",
        "replaces": None,
    }
    return {**values, **fields}


def send(yard: Yard, *rows: Any, client: Client | None = None, **fields: Any) -> Any:
    body = {
        "by": str(yard.teacher.pk),
        "sent_at": timezone.now().isoformat(),
        "rows": list(rows),
        **fields,
    }
    client = client or signed_in(yard.teacher)
    return client.post(reverse("presence_events"), json.dumps(body), content_type=JSON)


def results(answer: Any) -> list[str]:
    assert answer.status_code == 200, answer.text
    return [each["result"] for each in answer.json()["results"]]


def test_a_row_sent_twice_is_stored_once(yard: Yard) -> None:
    sent = row(yard, now_session(yard))

    assert results(send(yard, sent)) == ["stored"]
    assert results(send(yard, sent, sent)) == ["already", "already"]

    stored = Attendance.objects.get()
    assert str(stored.pk) == sent["id"]
    assert (stored.how, stored.by, stored.note) == ("device", yard.teacher, "")
    assert stored.at.isoformat() == "2026-11-29T13:02:00+00:00"
    assert LogEntry.objects.filter(verb="attendance.received").count() == 1


def test_the_same_id_with_other_content_is_refused_and_kept(yard: Yard) -> None:
    session = now_session(yard)
    sent = row(yard, session)
    send(yard, sent)

    for _ in range(2):
        answer = send(yard, {**sent, "kind": "absent"})
        assert results(answer) == ["refused"]
        assert "stored with other content" in answer.json()["results"][0]["sentence"]

    assert Attendance.objects.get().kind == "came"
    kept = LogEntry.objects.get(verb="attendance.refused")
    assert kept.data["row"]["kind"] == "absent"
    assert kept.subject_id == str(session.pk)
    page = signed_in(yard.lead).get(reverse("session_presence", args=[session.pk])).text
    assert "Sent by a device and not taken" in page


def test_one_bad_row_does_not_hold_up_the_others(yard: Yard, other_yard: Yard) -> None:
    session = now_session(yard)
    waiting = enrol(yard.run, make_person())
    waiting.state = "waiting"
    waiting.save()
    foreign = make_session(other_yard.run)
    cancelled = make_session(yard.run, state="cancelled")
    bad: list[Any] = [
        None,
        "came",
        {},
        row(yard, session, id="no id"),
        row(yard, session, kind="late"),
        row(yard, session, at="2026-11-29T08:02:00"),  # without an offset
        row(yard, session, at="yesterday"),
        row(yard, session, at="0001-01-01T00:00:00+14:00"),
        row(yard, session, person="9" * 30),
        row(yard, session, person="²"),
        row(yard, session, person=yard.trainee.pk),
        row(yard, session, person=str(yard.lead.pk)),
        row(yard, session, person=str(waiting.person_id)),
        row(yard, foreign),
        row(yard, cancelled),
        row(yard, session, replaces=str(uuid.uuid4())),
        {**row(yard, session), "session": "\ud800\0"},
        {**row(yard, session), "more": 1},
    ]

    answer = send(yard, *bad, row(yard, session))

    assert results(answer) == ["refused"] * len(bad) + ["stored"]
    assert Attendance.objects.count() == 1
    assert LogEntry.objects.filter(verb="attendance.refused").count() == len(bad)


def test_a_press_takes_back_the_one_that_it_names(yard: Yard) -> None:
    session = now_session(yard)
    came = row(yard, session)
    absent = row(yard, session, kind="absent", replaces=came["id"])

    assert results(send(yard, came, absent)) == ["stored", "stored"]

    [found] = presence(session)
    assert found.absent
    assert found.minutes == 0
    again = row(yard, session, kind="absent", replaces=came["id"])
    assert results(send(yard, again)) == ["refused"]


@pytest.mark.parametrize(
    ("off", "told"),
    [
        (timedelta(minutes=9), ""),
        (timedelta(minutes=-9), ""),
        (timedelta(minutes=23, seconds=10), "23 minutes ahead of"),
        (timedelta(hours=-2), "120 minutes behind"),
    ],
)
def test_a_clock_that_is_off_is_told_and_kept(yard: Yard, off: timedelta, told: str) -> None:
    session = now_session(yard)

    answer = send(yard, row(yard, session), sent_at=(timezone.now() + off).isoformat())

    assert results(answer) == ["stored"]
    assert told in answer.json()["clock"]
    assert (answer.json()["clock"] == "") == (told == "")
    stored = Attendance.objects.get()
    assert stored.note == answer.json()["clock"]
    assert stored.at.isoformat() == "2026-11-29T13:02:00+00:00"


@pytest.mark.parametrize(
    ("fields", "status"),
    [
        ({"by": "0"}, 409),
        ({"rows": None}, 422),
        ({"sent_at": "now"}, 422),
        ({"rows": [0] * 201}, 413),
        ({"rows": ["x" * 300_000]}, 413),
    ],
)
def test_what_cannot_be_taken_is_told(yard: Yard, fields: dict[str, Any], status: int) -> None:
    answer = send(yard, **fields)

    assert answer.status_code == status
    assert answer.json()["sentence"].endswith(".")


def test_a_device_without_a_sign_in_is_told_in_json(yard: Yard) -> None:
    strict = Client(enforce_csrf_checks=True)
    address = reverse("presence_events")

    assert strict.post(address, "{}", content_type=JSON).status_code in (401, 403)
    assert Client().get(reverse("presence_roster")).status_code == 401
    assert send(yard, client=Client()).status_code == 401
    strict.force_login(yard.teacher, backend="django.contrib.auth.backends.ModelBackend")
    answer = strict.post(address, "{}", content_type=JSON)
    assert (answer.status_code, answer["Content-Type"]) == (403, JSON)
    client = signed_in(yard.teacher)
    assert client.post(address, "{", content_type=JSON).status_code == 422
    assert client.post(address, {"a": 1}).status_code == 415
    assert client.get(address).status_code == 405
    assert client.post(reverse("presence_roster")).status_code == 405


def test_a_device_takes_along_what_is_near_with_what_is_noted(yard: Yard) -> None:
    session = now_session(yard, title="Raking out")
    soon = make_session(
        yard.run, starts_at=timezone.now() + 30 * HOUR, ends_at=timezone.now() + 31 * HOUR
    )
    make_session(
        yard.run, starts_at=timezone.now() + 400 * HOUR, ends_at=timezone.now() + 401 * HOUR
    )
    wrong = note(session, yard.trainee, "absent", session.starts_at, yard.teacher)
    right = note(session, yard.trainee, "came", session.starts_at, yard.lead, replaces=wrong)

    found = signed_in(yard.teacher).get(reverse("presence_roster")).json()

    assert found["person"] == {"id": str(yard.teacher.pk), "name": yard.teacher.full_name}
    assert [each["id"] for each in found["sessions"]] == [str(session.pk), str(soon.pk)]
    first = found["sessions"][0]
    assert first["people"] == [{"id": str(yard.trainee.pk), "name": yard.trainee.full_name}]
    assert [each["id"] for each in first["noted"]] == [str(right.pk)]
    assert first["zone"] == "America/New_York"
    assert signed_in(yard.trainee).get(reverse("presence_roster")).json()["sessions"] == []


@pytest.mark.parametrize("number", [1, 3])
def test_a_roster_asks_as_often_for_three_sessions_as_for_one(
    yard: Yard, number: int, django_assert_num_queries: Any
) -> None:
    from training.queries.attendance import roster

    for place in range(number):
        starts = timezone.now() + place * HOUR
        make_session(yard.run, starts_at=starts, ends_at=starts + 30 * MINUTE)

    with django_assert_num_queries(3):
        assert len(roster(yard.teacher)["sessions"]) == number


def test_what_was_noted_before_somebody_withdrew_is_taken(yard: Yard) -> None:
    session = now_session(yard)
    yard.enrolment.state = "withdrawn"
    yard.enrolment.save()

    [answer] = receive_presence(
        actor=yard.teacher, rows=[row(yard, session)], sent_at=timezone.now()
    )

    assert answer.result == "stored"
