"""Reckoning with days."""

from datetime import date, datetime, time
from zoneinfo import ZoneInfo

from dateutil.relativedelta import relativedelta  # type: ignore[import-untyped]
from django.utils.formats import date_format
from django.utils.translation import gettext as _


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


def day_text(day: date | None) -> str:
    """Return a day as sentences have it, in the reader's language: ``05 Nov 2026``; None as ""."""
    return date_format(day, "d M Y") if day else ""


def moment_text(at: datetime) -> str:
    """Return an instant, in the zone that it is in, as ``day_text`` and the hour.

    >>> from datetime import UTC
    >>> moment_text(datetime(2026, 11, 5, 9, 30, tzinfo=UTC))
    '05 Nov 2026 at 09:30'
    """
    return _("{day} at {hour}").format(day=day_text(at), hour=f"{at:%H:%M}")
