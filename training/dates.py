"""Reckoning with days."""

import calendar
from datetime import date


def months_later(day: date, months: int) -> date:
    """Return the same day ``months`` later; one that the later month lacks becomes its last.

    >>> months_later(date(2028, 2, 29), 12)
    datetime.date(2029, 2, 28)
    """
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    last = calendar.monthrange(year, month + 1)[1]
    return date(year, month + 1, min(day.day, last))
