"""What everybody attended of a run against what its program asks."""

from collections.abc import Callable
from typing import Any

import pytest

from tests.factories import enrol, make_person
from tests.training.presence.builders import EIGHT, HOUR, MINUTE, make_module, make_session, note
from tests.training.yard import Yard
from training.queries.hours import hours_of, presence

LATER = EIGHT + 300 * HOUR


def test_minutes_by_module_and_what_is_missing(yard: Yard) -> None:
    joints, mortar = make_module(yard.program, 120), make_module(yard.program, 90)
    first = make_session(yard.run, module=joints)
    second = make_session(yard.run, starts_at=EIGHT + 3 * HOUR, ends_at=EIGHT + 4 * HOUR)
    note(first, yard.trainee, "came", EIGHT + 30 * MINUTE, yard.teacher)
    note(second, yard.trainee, "came", EIGHT + 3 * HOUR, yard.teacher)

    hours = hours_of(yard.run, now=LATER)

    assert hours.asked == {joints.pk: 120, mortar.pk: 90}
    assert hours.asked_total == 210
    assert hours.planned == {joints.pk: 120, mortar.pk: 0}
    own = hours.of(yard.trainee.pk)
    assert own is not None
    assert (own.by_module, own.other, own.total) == ({joints.pk: 90, mortar.pk: 0}, 60, 150)
    assert [(each.module, each.minutes) for each in own.missing] == [(joints, 30), (mortar, 90)]
    assert own.missing_minutes == 120
    assert [each.pk for each in hours.sessions] == [first.pk, second.pk]


def test_what_is_still_to_come_is_not_lost(yard: Yard) -> None:
    """Two hours asked, 30 minutes missed of the first, an hour of the second is yet to be held."""
    joints = make_module(yard.program, 120)
    first = make_session(yard.run, module=joints, ends_at=EIGHT + HOUR)
    tomorrow = EIGHT + 24 * HOUR
    make_session(yard.run, module=joints, starts_at=tomorrow, ends_at=tomorrow + HOUR)
    note(first, yard.trainee, "came", EIGHT + 30 * MINUTE, yard.teacher)

    own = hours_of(yard.run, now=EIGHT + 2 * HOUR).of(yard.trainee.pk)
    assert own is not None
    assert [(each.minutes, each.coming, each.lost) for each in own.missing] == [(90, 60, 30)]
    assert (own.missing_minutes, own.lost_minutes) == (90, 30)

    later = hours_of(yard.run, now=LATER).of(yard.trainee.pk)
    assert later is not None
    assert (later.missing_minutes, later.lost_minutes) == (90, 90)


def test_a_row_that_was_corrected_does_not_stand(yard: Yard) -> None:
    session = make_session(yard.run)
    wrong = note(session, yard.trainee, "came", EIGHT + HOUR, yard.teacher)
    right = note(session, yard.trainee, "came", EIGHT, yard.lead, replaces=wrong)

    [row] = presence(session, now=LATER)

    assert row.rows == (right,)
    assert (row.minutes, row.late) == (120, 0)


def test_who_is_told(yard: Yard) -> None:
    session = make_session(yard.run)
    waiting, gone, left = (enrol(yard.run, make_person(f"{name} Ashlar")) for name in "WGL")
    for enrolment, state in ((waiting, "waiting"), (gone, "withdrawn"), (left, "withdrawn")):
        enrolment.state = state
        enrolment.save()
    note(session, left.person, "came", EIGHT, yard.teacher)

    rows = presence(session, now=LATER)

    assert [row.person for row in rows] == [yard.trainee, left.person]
    assert [row.withdrawn for row in rows] == [False, True]
    assert [each.person for each in hours_of(yard.run, now=LATER).people] == [
        yard.trainee,
        left.person,
    ]


def test_a_cancelled_session_does_not_count(yard: Yard) -> None:
    session = make_session(yard.run, state="cancelled")
    note(session, yard.trainee, "came", EIGHT, yard.teacher)

    hours = hours_of(yard.run, now=LATER)

    assert hours.sessions == {}
    own = hours.of(yard.trainee.pk)
    assert own is not None
    assert own.total == 0


@pytest.mark.parametrize("number", [1, 3])
def test_the_number_of_queries_does_not_grow(
    yard: Yard, number: int, django_assert_num_queries: Callable[..., Any]
) -> None:
    make_module(yard.program)
    for place in range(number):
        starts = EIGHT + place * 24 * HOUR
        session = make_session(yard.run, starts_at=starts, ends_at=starts + HOUR)
        person = enrol(yard.run, make_person()).person
        note(session, person, "came", starts, yard.teacher)

    with django_assert_num_queries(4):
        assert len(hours_of(yard.run, now=LATER).people) == number + 1
    with django_assert_num_queries(2):
        presence(session, now=LATER)
