"""Signing in by the code on the wall: when, by whom, once, at midnight and in other zones."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from threading import Barrier
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.core.exceptions import PermissionDenied
from django.db import connections

from tests.factories import enrol, make_person
from tests.training.presence.builders import EIGHT, HOUR, MINUTE, make_session, note
from tests.training.yard import Yard, make_yard
from training.actions.attendance import note_presence, sign_in
from training.actions.attendance_code import HOLDS, LETTERS, code_of, current_code
from training.actions.attendance_sent import receive_presence
from training.errors import Refused
from training.models import Attendance, LogEntry, Session, SignInCode
from training.queries.hours import presence

NEW_YORK = ZoneInfo("America/New_York")


def code_at(yard: Yard, session: Session, at: datetime) -> SignInCode:
    return current_code(actor=yard.teacher, session=session, now=at)


@pytest.mark.parametrize(
    ("at", "open_"),
    [
        (EIGHT - HOUR - timedelta(seconds=1), False),
        (EIGHT - HOUR, True),
        (EIGHT, True),
        (EIGHT + 2 * HOUR, True),
        (EIGHT + 2 * HOUR + timedelta(seconds=1), False),
    ],
)
def test_from_an_hour_before_the_start_to_the_end(yard: Yard, at: datetime, open_: bool) -> None:
    session = make_session(yard.run)
    code = SignInCode.objects.create(
        session=session,
        token="ACDEFGHJ",
        made_by=yard.teacher,
        made_at=at - HOUR,
        valid_until=at + HOUR,
    )

    if open_:
        assert sign_in(actor=yard.trainee, code=code, now=at).at == at
    else:
        with pytest.raises(Refused, match=r"New_York"):
            sign_in(actor=yard.trainee, code=code, now=at)
    assert Attendance.objects.count() == int(open_)


def test_the_hours_are_told_by_the_sites_clocks(yard: Yard) -> None:
    session = make_session(yard.run)

    with pytest.raises(Refused) as early:
        code_at(yard, session, EIGHT - 3 * HOUR)
    with pytest.raises(Refused) as late:
        code_at(yard, session, EIGHT + 3 * HOUR)

    assert "03 Nov 2026 at 07:00 (America/New_York)" in early.value.message
    assert "03 Nov 2026 at 10:00 (America/New_York)" in late.value.message


def test_one_code_after_the_other_and_the_last_one_holds_on(yard: Yard) -> None:
    session = make_session(yard.run)
    first = code_at(yard, session, EIGHT)
    assert code_at(yard, session, EIGHT + 4 * MINUTE) == first
    second = code_at(yard, session, EIGHT + 6 * MINUTE)
    assert second != first
    assert len(first.token) == 8
    assert set(first.token) <= set(LETTERS)

    sign_in(actor=yard.trainee, code=first, now=EIGHT + HOLDS - timedelta(seconds=1))
    with pytest.raises(Refused, match="has ended"):
        sign_in(actor=yard.trainee, code=first, now=EIGHT + HOLDS)


def test_only_those_enrolled_sign_in_and_only_who_teaches_shows_the_code(yard: Yard) -> None:
    session = make_session(yard.run)
    code = code_at(yard, session, EIGHT)
    waiting, gone = (enrol(yard.run, make_person()) for _ in range(2))
    for enrolment, state in ((waiting, "waiting"), (gone, "withdrawn")):
        enrolment.state = state
        enrolment.save()

    for person in (waiting.person, gone.person, yard.stranger, yard.teacher):
        with pytest.raises(Refused, match="is not enrolled"):
            sign_in(actor=person, code=code, now=EIGHT)
    for person in (yard.trainee, yard.other_teacher, yard.stranger):
        with pytest.raises(PermissionDenied):
            current_code(actor=person, session=session, now=EIGHT)
        with pytest.raises(PermissionDenied):
            note_presence(actor=person, session=session, person=yard.trainee, kind="came", at=EIGHT)
    assert Attendance.objects.count() == 0


def test_pressing_again_notes_nothing_and_coming_back_does(yard: Yard) -> None:
    session = make_session(yard.run)
    code = code_at(yard, session, EIGHT)

    def press(kind: str, minutes: int) -> Attendance:
        return sign_in(actor=yard.trainee, code=code, kind=kind, now=EIGHT + minutes * MINUTE)

    with pytest.raises(Refused, match="not signed in"):
        press("left", 0)
    came = press("came", 0)
    assert press("came", 1) == came
    left = press("left", 2)
    assert press("left", 3) == left
    back = press("came", 8)
    assert back not in (came, left)
    assert Attendance.objects.count() == 3
    assert LogEntry.objects.filter(verb__startswith="attendance.").count() == 3
    [row] = presence(session, now=EIGHT + 3 * HOUR)
    assert row.minutes == 2 + 112


def test_who_was_marked_as_not_there_signs_in_instead(yard: Yard) -> None:
    session = make_session(yard.run)
    marked = note(session, yard.trainee, "absent", EIGHT + 20 * MINUTE, yard.teacher)
    code = code_at(yard, session, EIGHT + 30 * MINUTE)

    row = sign_in(actor=yard.trainee, code=code, now=EIGHT + 31 * MINUTE)

    assert row.replaces == marked
    [found] = presence(session, now=EIGHT + 3 * HOUR)
    assert (found.absent, found.late, found.doubt) == (False, 31, "")


def test_a_cancelled_session_takes_nobody(yard: Yard) -> None:
    session = make_session(yard.run)
    code = code_at(yard, session, EIGHT)
    Session.objects.update(state="cancelled")
    code.session.refresh_from_db()

    with pytest.raises(Refused, match="cancelled"):
        sign_in(actor=yard.trainee, code=code, now=EIGHT)


@pytest.mark.parametrize(("minute", "late"), [(-1, 119), (1, 121)])
def test_at_midnight(yard: Yard, minute: int, late: int) -> None:
    """23:59 and 00:01 by the site's clocks, in a session from 22:00 to 02:00."""
    starts = datetime(2026, 11, 3, 22, tzinfo=NEW_YORK)
    session = make_session(yard.run, starts_at=starts, ends_at=starts + 4 * HOUR)
    at = datetime(2026, 11, 4, tzinfo=NEW_YORK) + minute * MINUTE

    code = code_at(yard, session, at)
    row = sign_in(actor=yard.trainee, code=code, now=at.astimezone(UTC))

    row.refresh_from_db()
    assert row.at == at
    [found] = presence(session, now=starts + 24 * HOUR)
    assert (found.late, found.minutes) == (late, 240 - late)


def test_a_phone_in_another_zone_and_a_device_in_a_third(yard: Yard) -> None:
    other = enrol(yard.run, make_person()).person
    session = make_session(yard.run)
    code = code_at(yard, session, EIGHT)
    sign_in(actor=yard.trainee, code=code, now=EIGHT.astimezone(ZoneInfo("Pacific/Auckland")))
    receive_presence(
        actor=yard.teacher,
        rows=[
            {
                "id": "11111111-1111-4111-8111-111111111111",
                "session": str(session.pk),
                "person": str(other.pk),
                "kind": "came",
                "at": "2026-11-03T18:30:00+05:30",  # 08:00 in New York
                "replaces": None,
            }
        ],
        sent_at=EIGHT,
        now=EIGHT,
    )

    rows = presence(session, now=EIGHT + 3 * HOUR)

    assert [(row.came_at, row.late, row.minutes) for row in rows] == [(EIGHT, 0, 120)] * 2


def test_codes_are_read_as_people_type_them(yard: Yard) -> None:
    code = code_at(yard, make_session(yard.run), EIGHT)
    token = code.token

    for typed in (token, token.lower(), f" {token[:4]} {token[4:]}", f"{token[:4]}-{token[4:]}."):
        assert code_of(typed) == code
    for typed in ("", token[:7], token + "A", "\0" * 8, "é" * 8):
        assert code_of(typed) is None


@pytest.mark.django_db(transaction=True)
def test_eight_presses_at_once_are_noted_once(data_in_a_folder_of_its_own: None) -> None:
    yard = make_yard()
    session = make_session(yard.run)
    code = code_at(yard, session, EIGHT)
    row = {
        "id": "11111111-1111-4111-8111-111111111111",
        "session": str(session.pk),
        "person": str(enrol(yard.run, make_person()).person_id),
        "kind": "came",
        "at": "2026-11-03T08:00:00-05:00",
        "replaces": None,
    }

    def by_phone() -> Any:
        return sign_in(actor=yard.trainee, code=code, now=EIGHT).pk

    def by_device() -> Any:
        answers = receive_presence(actor=yard.teacher, rows=[row], sent_at=EIGHT, now=EIGHT)
        return answers[0].result

    assert len(set(at_once(by_phone))) == 1
    assert sorted(at_once(by_device)) == ["already"] * 7 + ["stored"]
    assert Attendance.objects.count() == 2


def at_once(press: Callable[[], Any]) -> list[Any]:
    """Call ``press`` in eight threads that start together; each with a connection of its own."""
    start = Barrier(8)

    def one() -> Any:
        try:
            start.wait(timeout=30)
            return press()
        finally:
            connections.close_all()

    with ThreadPoolExecutor(8) as pool:
        return [each.result() for each in [pool.submit(one) for _ in range(8)]]
