"""How rows of attendance become minutes.

Expected values are worked out by hand from the rule at the head of ``training/queries/stays.py``;
changes of the clocks are those of the IANA time zone database for New York in 2026 (from memory:
forward on 8 March at 02:00, back on 1 November at 02:00).
"""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from training.models import Attendance, Person, Session
from training.queries.stays import presence_of

NEW_YORK = ZoneInfo("America/New_York")
START = datetime(2026, 11, 3, 8, tzinfo=NEW_YORK)
LATER = datetime(2026, 12, 1, tzinfo=UTC)
SESSION = Session(starts_at=START, ends_at=START + timedelta(hours=4))
MASON = Person(full_name="Ilse Farrowby")


def rows(*pairs: tuple[str, datetime]) -> list[Attendance]:
    return [Attendance(kind=kind, at=at, received_at=at) for kind, at in pairs]


def clock(hour: int, minute: int = 0, second: int = 0) -> datetime:
    return START.replace(hour=hour, minute=minute, second=second)


@pytest.mark.parametrize(
    ("noted", "minutes", "late", "early"),
    [
        ([("came", clock(8))], 240, 0, 0),  # nobody signed out: to the end
        ([("came", clock(7, 20)), ("left", clock(12, 30))], 240, 0, 0),
        ([("came", clock(8, 5))], 240, 0, 0),  # within the grace
        ([("came", clock(8, 5, 1))], 235, 5, 0),
        ([("came", clock(8, 6))], 234, 6, 0),
        ([("came", clock(8)), ("left", clock(11, 55))], 240, 0, 0),
        ([("came", clock(8)), ("left", clock(11, 54))], 234, 0, 6),
        ([("came", clock(8)), ("left", clock(9)), ("came", clock(10))], 180, 0, 0),
        ([("came", clock(8)), ("came", clock(9)), ("left", clock(10))], 120, 0, 120),
        ([("came", clock(8)), ("left", clock(9)), ("left", clock(10))], 60, 0, 180),
        ([("absent", clock(8, 20))], 0, 0, 0),
        ([], 0, 0, 0),
    ],
)
def test_minutes(noted: list[tuple[str, datetime]], minutes: int, late: int, early: int) -> None:
    found = presence_of(SESSION, MASON, rows(*noted), now=LATER)

    assert (found.minutes, found.late, found.left_early) == (minutes, late, early)
    assert found.doubt == ""


def test_rows_are_read_by_their_times_and_not_in_the_order_in_which_they_came() -> None:
    noted = rows(("left", clock(10)), ("came", clock(8)))

    assert presence_of(SESSION, MASON, noted, now=LATER).minutes == 120


def test_a_session_that_goes_on_counts_up_to_now() -> None:
    noted = rows(("came", clock(8)))

    assert presence_of(SESSION, MASON, noted, now=clock(9, 30)).minutes == 90
    assert presence_of(SESSION, MASON, noted, now=clock(7, 50)).minutes == 0


@pytest.mark.parametrize(
    ("noted", "told"),
    [
        ([("left", clock(9))], "Left without having come"),
        ([("came", clock(8)), ("absent", clock(8, 20))], "Noted as not there and as there"),
        ([("came", clock(12))], "Came after the end"),
        ([("came", clock(7)), ("left", clock(7, 30))], "Left before the start"),
    ],
)
def test_rows_that_do_not_agree_are_told(noted: list[tuple[str, datetime]], told: str) -> None:
    assert told in presence_of(SESSION, MASON, rows(*noted), now=LATER).doubt


def test_a_session_across_midnight() -> None:
    night = Session(
        starts_at=datetime(2026, 11, 3, 22, tzinfo=NEW_YORK),
        ends_at=datetime(2026, 11, 4, 2, tzinfo=NEW_YORK),
    )
    before = rows(("came", datetime(2026, 11, 3, 23, 59, tzinfo=NEW_YORK)))
    after = rows(("came", datetime(2026, 11, 4, 0, 1, tzinfo=NEW_YORK)))

    assert presence_of(night, MASON, before, now=LATER).minutes == 121
    assert presence_of(night, MASON, before, now=LATER).late == 119
    assert presence_of(night, MASON, after, now=LATER).minutes == 119
    assert presence_of(night, MASON, after, now=LATER).late == 121


@pytest.mark.parametrize(
    ("day", "hours"),
    [(datetime(2026, 3, 8), 3), (datetime(2026, 11, 1), 5), (datetime(2026, 11, 2), 4)],  # noqa: DTZ001
)
def test_a_night_in_which_the_clocks_change_has_the_hours_that_passed(
    day: datetime, hours: int
) -> None:
    night = Session(
        starts_at=day.replace(hour=0, tzinfo=NEW_YORK), ends_at=day.replace(hour=4, tzinfo=NEW_YORK)
    )

    noted = rows(("came", night.starts_at))

    assert presence_of(night, MASON, noted, now=LATER).minutes == hours * 60


def test_the_phones_zone_does_not_matter() -> None:
    tokyo = clock(8, 30).astimezone(ZoneInfo("Asia/Tokyo"))

    found = presence_of(SESSION, MASON, rows(("came", tokyo)), now=LATER)

    assert (found.late, found.minutes) == (30, 210)
