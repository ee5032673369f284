"""What a cell, a title or a sentence of a section says in the reader's language."""

import re
from datetime import datetime

from django.utils.formats import date_format
from django.utils.translation import get_language

from training.said import said

_DAY = re.compile(r"\b(\d{1,2} (?:Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec) \d{4})\b")
_TALLY = re.compile(r"(?:[a-z]+ \d+)(?:, [a-z]+ \d+)*")


def said_of_section(text: str) -> str:
    """Return a text of a section in the active language, with the days in it.

    >>> said_of_section("Sill yard, 3 Mar 2026"), said_of_section("essential 2, important 1")
    ('Sill yard, 3 Mar 2026', 'essential 2, important 1')
    """
    if not text or (get_language() or "en").split("-")[0] == "en":
        return text
    if _TALLY.fullmatch(text):
        pairs = (each.split(" ") for each in text.split(", "))
        return ", ".join(f"{said(word)} {number}" for word, number in pairs)
    return _DAY.sub(_day_again, said(text))


def _day_again(found: re.Match[str]) -> str:
    return date_format(datetime.strptime(found[1], "%d %b %Y").date(), "j M Y")
