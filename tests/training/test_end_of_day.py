"""The end of a day against the time zone database: a microsecond before the next day's start."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from training.dates import end_of_day


@pytest.mark.parametrize(
    ("zone", "day"),
    [
        ("America/Santiago", date(2027, 4, 3)),  # clocks go back at midnight
        ("America/Santiago", date(2027, 9, 4)),  # clocks go forward at midnight
        ("America/New_York", date(2026, 11, 1)),
        ("Europe/London", date(2027, 3, 28)),
        ("Asia/Kolkata", date(2028, 2, 29)),
        ("Pacific/Kiritimati", date(2026, 12, 31)),
    ],
)
def test_the_next_microsecond_is_another_day(zone: str, day: date) -> None:
    end = end_of_day(day, ZoneInfo(zone)).astimezone(UTC)
    after = (end + timedelta(microseconds=1)).astimezone(ZoneInfo(zone))
    assert end.astimezone(ZoneInfo(zone)).date() == day
    assert after.date() == day + timedelta(days=1)


def test_where_the_hour_before_midnight_comes_twice() -> None:
    """Chile, 3 April 2027: 24:00 at UTC-3 becomes 23:00 at UTC-4 (IANA time zone database)."""
    end = end_of_day(date(2027, 4, 3), ZoneInfo("America/Santiago"))
    assert end.astimezone(UTC) == datetime(2027, 4, 4, 3, 59, 59, 999999, tzinfo=UTC)
