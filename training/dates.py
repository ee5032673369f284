"""Reckoning with days."""

from datetime import date

from dateutil.relativedelta import relativedelta  # type: ignore[import-untyped]


def months_later(day: date, months: int) -> date:
    """Return the same day ``months`` later; one that the later month lacks becomes its last.

    >>> months_later(date(2028, 2, 29), 12)
    datetime.date(2029, 2, 28)
    """
    later: date = day + relativedelta(months=months)
    return later
