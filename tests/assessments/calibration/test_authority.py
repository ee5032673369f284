"""What a program asks, and who is authorised by which figures until when."""

from datetime import timedelta
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied
from django.db import connection
from django.utils import timezone

from assessments.actions.calibration import (
    authorise,
    set_requirement,
    start_sitting,
    withdraw_authority,
)
from assessments.models import AssessorRequirement, Authorisation
from assessments.queries.calibration.authority import authority_of, requirement_of
from tests.assessments.builders import Yard, make_yard
from tests.assessments.calibration.builders import (
    TOO_WIDE,
    ask,
    authorised,
    finished_on,
    make_piece,
    sit,
)
from tests.factories import make_role
from training.dates import months_later
from training.errors import Refused
from training.models import LogEntry, Person, Role

pytestmark = pytest.mark.django_db


def let(yard: Yard, assessor: Person | None = None, actor: Person | None = None) -> Authorisation:
    return authorise(
        actor=actor or yard.lead, program=yard.program, assessor=assessor or yard.instructor
    )


def take(yard: Yard, reason: str = "Too far apart on joints.", **changes: Any) -> Authorisation:
    given = {"actor": yard.lead, "assessor": yard.instructor, **changes}
    return withdraw_authority(program=yard.program, reason=reason, **given)


def test_the_newest_requirement_counts() -> None:
    yard = make_yard()
    assert requirement_of(yard.program) is None
    ask(yard)
    newest = ask(yard, pieces=3, exact="4/5", bias="0.0500")
    assert requirement_of(yard.program) == newest
    assert (newest.exact, newest.bias) == ("0.8", "0.05")
    assert AssessorRequirement.objects.count() == 2
    assert LogEntry.objects.filter(verb="requirement.set").count() == 2


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("pieces", 0),
        ("pieces", 51),
        ("months", 0),
        ("months", 121),
        ("exact", "1.01"),
        ("exact", "80 %"),
        ("exact", ""),
        ("bias", "-0.1"),
        ("bias", "1/0"),
    ],
)
def test_what_cannot_be_asked_is_told_at_its_field(field: str, value: Any) -> None:
    yard = make_yard()
    with pytest.raises(Refused) as caught:
        ask(yard, **{field: value})
    assert caught.value.field == field
    assert not AssessorRequirement.objects.exists()


@pytest.mark.parametrize("who", ["instructor", "trainee", "other lead"])
def test_only_a_lead_of_the_provider_decides(who: str) -> None:
    yard = make_yard()
    ask(yard)
    sit(yard.instructor, make_piece(yard))
    authorised(yard, yard.instructor, timezone.localdate())
    other = {"instructor": yard.instructor, "trainee": yard.trainee}.get(who, make_yard().lead)
    before = Authorisation.objects.count()
    asked = {"pieces": 1, "months": 1, "exact": "0", "bias": "1"}
    with pytest.raises(PermissionDenied):
        set_requirement(actor=other, program=yard.program, **asked)  # type: ignore[arg-type]
    with pytest.raises(PermissionDenied):
        let(yard, actor=other)
    with pytest.raises(PermissionDenied):
        take(yard, actor=other)
    assert Authorisation.objects.count() == before


def test_nobody_decides_on_the_own_authority() -> None:
    yard = make_yard()
    ask(yard)
    sit(yard.lead, make_piece(yard))
    with pytest.raises(Refused, match="ask another lead"):
        let(yard, yard.lead)
    second = make_role(Role.Kind.LEAD, yard.provider)
    assert let(yard, yard.lead, actor=second).granted
    with pytest.raises(Refused, match="ask another lead"):
        take(yard, assessor=yard.lead)


def test_exactly_what_is_asked_is_enough() -> None:
    yard = make_yard()
    ask(yard, exact="0.8", bias="0.1")
    # One level too high on the first of five criteria: 4 of 5 the same, a mean of (1/2)/5 = 1/10.
    sitting = sit(yard.instructor, make_piece(yard), C1={"level": 2})
    given = let(yard)
    assert given.until == months_later(timezone.localdate(), 12)
    assert given.figures == {
        "asked": {"pieces": 1, "months": 12, "exact": "0.8", "bias": "0.1"},
        "pieces": 1,
        "criteria": 5,
        "same": 4,
        "exact": "0.8",
        "bias": "0.1",
        "sittings": [str(sitting.pk)],
    }
    assert LogEntry.objects.get(verb="authority.given").data["figures"] == given.figures


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"exact": "0.81"}, r"4 of 5 .* which is 5 of them: 1 too few"),
        ({"bias": "0.0999"}, r"10 % above .* at most 9\.99 % .* 0\.01 % too much"),
        ({"pieces": 3}, r"1 of 3 reference pieces .* 2 more are needed"),
    ],
)
def test_a_hair_less_is_not(changes: dict[str, Any], said: str) -> None:
    yard = make_yard()
    ask(yard, **changes)
    sit(yard.instructor, make_piece(yard), C1={"level": 2})
    with pytest.raises(Refused, match=said):
        let(yard)
    assert not Authorisation.objects.exists()


def test_figures_are_taken_over_all_that_counts() -> None:
    yard = make_yard()
    ask(yard, pieces=2, exact="0.8", bias="0.1")
    # 3 of 5 with a mean of -2/5 and 5 of 5: together 8 of 10, a mean of -2/10.
    sit(yard.instructor, make_piece(yard, "A"), C2=TOO_WIDE, C3={"answer": False})
    sit(yard.instructor, make_piece(yard, "B"))
    with pytest.raises(Refused, match=r"20 % below .* 10 % too much\.$"):
        let(yard)
    ask(yard, pieces=2, exact="0.8", bias="1/5")
    assert let(yard).figures["exact"] == "0.8"


def test_authority_lasts_as_long_as_enough_sittings_count() -> None:
    yard, today = make_yard(), timezone.localdate()
    ask(yard, pieces=2, months=6)
    days = [months_later(today, -5), months_later(today, -2), today]
    for number, day in enumerate(days):
        finished_on(sit(yard.instructor, make_piece(yard, f"Piece {number}")), day)
    # Two are needed: the second newest is of two months ago, and counts for six.
    assert let(yard).until == months_later(days[1], 6)


def test_a_sitting_counts_up_to_its_last_day() -> None:
    yard, today = make_yard(), timezone.localdate()
    ask(yard, months=1)
    sitting = sit(yard.instructor, make_piece(yard))
    last = next(day for n in range(27, 33) if months_later(day := today - timedelta(n), 1) == today)
    finished_on(sitting, last)
    assert let(yard).until == today
    earlier = last - timedelta(days=1)
    while months_later(earlier, 1) == today:  # short months end on the same day
        earlier -= timedelta(days=1)
    finished_on(sitting, earlier)
    with pytest.raises(Refused, match="0 of 1 reference piece"):
        let(yard)


def test_only_the_first_go_at_a_piece_counts() -> None:
    yard = make_yard()
    ask(yard, months=1)
    piece = make_piece(yard)
    first = sit(yard.instructor, piece, C1={"level": 0}, C3={"answer": False})
    finished_on(first, timezone.localdate() - timedelta(days=40))
    sit(yard.instructor, piece)
    # The lead asks for a longer time: both lie in it, and the second came after the answers.
    ask(yard, months=12)
    with pytest.raises(Refused, match="3 of 5 criteria"):
        let(yard)


def test_an_open_sitting_does_not_count() -> None:
    yard = make_yard()
    ask(yard)
    start_sitting(actor=yard.instructor, piece=make_piece(yard))
    with pytest.raises(Refused, match="0 of 1 reference piece"):
        let(yard)


def test_authority_is_given_once_and_renewed() -> None:
    yard = make_yard()
    with pytest.raises(Refused, match="Set first what the program asks"):
        let(yard)
    ask(yard)
    old = sit(yard.instructor, make_piece(yard, "A"))
    finished_on(old, months_later(timezone.localdate(), -3))
    let(yard)
    with pytest.raises(Refused, match="is authorised already"):
        let(yard)
    sit(yard.instructor, make_piece(yard, "B"))
    assert let(yard).until == months_later(timezone.localdate(), 12)


def test_who_teaches_no_more_is_not_authorised() -> None:
    yard = make_yard()
    ask(yard)
    sit(yard.instructor, make_piece(yard))
    yard.run.instructors.clear()
    with pytest.raises(Refused, match="neither leads nor teaches"):
        let(yard)


def test_withdrawing_needs_a_reason_and_an_authority() -> None:
    yard = make_yard()
    ask(yard)
    with pytest.raises(Refused, match="has no authority"):
        take(yard)
    authorised(yard, yard.instructor, timezone.localdate() - timedelta(days=1))
    with pytest.raises(Refused, match="has no authority"):
        take(yard)
    sit(yard.instructor, make_piece(yard))
    let(yard)
    for reason in (" ", "x" * 1001):
        with pytest.raises(Refused) as caught:
            take(yard, reason=reason)
        assert caught.value.field == "reason"
    taken = take(yard)
    assert (taken.granted, taken.until) == (False, None)
    authority = authority_of(yard.program, yard.instructor)
    assert not authority.holds(timezone.localdate())
    assert authority.why_not() == (
        "Your authority to sign off was withdrawn: Too far apart on joints."
    )
    # The figures still carry it: a lead may give it again.
    assert let(yard).granted


def test_months_are_counted_to_the_last_day_of_a_shorter_one() -> None:
    # Source: PostgreSQL's own adding of an interval to a date, over two years of days.
    for months in (1, 6, 12, 13, -1):
        with connection.cursor() as cursor:
            cursor.execute(
                "SELECT d::date, (d + make_interval(months => %s))::date FROM"
                " generate_series('2027-01-01'::timestamp, '2028-12-31', '1 day') AS d",
                [months],
            )
            rows = cursor.fetchall()
        assert len(rows) == 731
        for day, later in rows:
            assert months_later(day, months) == later
