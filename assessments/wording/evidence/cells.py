"""What a cell, a title or a sentence of a section says in the reader's language."""

import re
from datetime import date

from django.utils.formats import date_format
from django.utils.translation import get_language, pgettext

from assessments.lengths import numbers
from training.said import said

_MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]
_DAY = re.compile(rf"\b(\d{{1,2}}) ({'|'.join(_MONTHS)}) (\d{{4}})\b")
_TALLY = re.compile(r"(?:[a-z]+ \d+)(?:, [a-z]+ \d+)*")


def said_of_section(text: str) -> str:
    """Return a text of a section in the active language, with the days and decimals in it.

    >>> said_of_section("Sill yard, 3 Mar 2026"), said_of_section("essential 2, important 1")
    ('Sill yard, 3 Mar 2026', 'essential 2, important 1')
    """
    if not text or (get_language() or "en").split("-")[0] == "en":
        return text
    if _TALLY.fullmatch(text):
        pairs = (each.split(" ") for each in text.split(", "))
        return ", ".join(f"{said(word)} {number}" for word, number in pairs)
    return numbers(_column(text) or _DAY.sub(_day_again, said(text)))


def _column(text: str) -> str:
    """A title of a column that elsewhere means something else; "" for any other text."""
    return {
        "Change": pgettext("column", "Change"),
        "Made": pgettext("column", "Made"),
        "Note": pgettext("column", "Note"),
        "Open": pgettext("column", "Open"),
    }.get(text, "")


def _day_again(found: re.Match[str]) -> str:
    day, month, year = found.groups()
    return date_format(date(int(year), _MONTHS.index(month) + 1, int(day)), "j M Y")
