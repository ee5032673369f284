"""Reckoning with days."""

from datetime import date, datetime, time
from zoneinfo import ZoneInfo

from dateutil.relativedelta import relativedelta  # type: ignore[import-untyped]


def months_later(day: date, months: int) -> date:
    """Return the same day ``months`` later; one that the later month lacks becomes its last.

    >>> months_later(date(2028, 2, 29), 12)
    datetime.date(2029, 2, 28)
    """
    later: date = day + relativedelta(months=months)
    return later


def end_of_day(day: date, zone: ZoneInfo) -> datetime:
    """Return the last microsecond of ``day``.

    Where clocks go back at midnight the last hour comes twice: the second one ends the day.
    """
    return datetime.combine(day, time.max.replace(fold=1), tzinfo=zone)
