"""Where an axis of days has its ticks: at days, Mondays, months or years, as many as have room."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from certificates.coverage.stays import DAY

MONTHS = (1, 2, 3, 6, 12, 24, 60, 120, 240)
LABEL = len("30 Sep 2027") + 2
SHORT_LABEL = len("Sep 2027") + 2
"""How many letters a label takes with the space after it."""


def ticks(first: date, last: date, letters: int) -> list[tuple[date, str]]:
    """The days of the ticks with their labels; ``letters`` is what fits on the whole axis.

    >>> [words for _, words in ticks(date(2027, 1, 4), date(2027, 12, 31), 70)]
    ['Mar 2027', 'May 2027', 'Jul 2027', 'Sep 2027', 'Nov 2027']
    >>> [words for _, words in ticks(date(2027, 3, 1), date(2027, 3, 3), 70)]
    ['1 Mar 2027', '2 Mar 2027', '3 Mar 2027']
    """
    days = (last - first).days + 1
    for step in (1, 7):
        if days * LABEL <= letters * step:
            found = [on for on in _days(first, last) if step == 1 or on.weekday() == 0]
            return [(on, f"{on.day} {on:%b} {on.year}") for on in found or [first]]
    for months in MONTHS:
        if days * SHORT_LABEL <= letters * months * 30 or months == MONTHS[-1]:
            break
    found = [
        on
        for on in _firsts(first, last)
        if (on.month - 1) % min(months, 12) == 0 and (months < 12 or on.year % (months // 12) == 0)
    ]
    return [(on, f"{on:%b} {on.year}") for on in found] or [(first, f"{first:%b} {first.year}")]


def _days(first: date, last: date) -> Iterator[date]:
    on = first
    while on <= last:
        yield on
        on += DAY


def _firsts(first: date, last: date) -> Iterator[date]:
    """The first days of the months that begin in between."""
    year, month = first.year, first.month
    while (on := date(year, month, 1)) <= last:
        if on >= first:
            yield on
        if month == 12 and year == date.max.year:
            return
        year, month = (year + 1, 1) if month == 12 else (year, month + 1)
