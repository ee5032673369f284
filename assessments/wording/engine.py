"""The engine's sentences in the reader's language: their patterns, and what stands in them.

The engine is pure and speaks English, and decisions, records and logs keep its sentences. So they
are known here by their patterns and translated where they are shown (``training.said``). Titles,
descriptions and whatever else a program says in its own words stay as they are.
"""

import re
from collections.abc import Callable, Mapping

from django.utils.translation import gettext as _

from assessments.wording import decisions, faults, ranges, results, sheets
from training.said import said, unknown

SAID = (*results.SAID, *decisions.SAID, *ranges.SAID, *sheets.SAID, *faults.SAID)

_NUMBER = r"-?\d+(?:\.\d+)?(?: \d+/\d+|/\d+)?"
_UNIT = r"(?: US fl oz| [^\s\d;:,.()“”]+\d?)?"
AMOUNT = rf"(?:about |≈ |< )?{_NUMBER}{_UNIT}(?: \((?:about )?{_NUMBER}{_UNIT}\))?"
"""A quantity as the engine writes it, or with what was taken in brackets behind it."""
_SIZE = rf"(?:half |twice |{_NUMBER} times )?that size"

FORMS: Mapping[str, str] = {
    **dict.fromkeys(("amount", "other", "low", "high"), AMOUNT),
    **dict.fromkeys(("size", "larger"), _SIZE),
    **dict.fromkeys(("count", "number", "needed", "level", "most"), r"\d+"),
    "key": r"[A-Za-z][A-Za-z0-9_-]{0,39}",
    "criterion": r"[A-Za-z][A-Za-z0-9_-]{0,39}, .*?",
    "scores": r"(?:about )?\d.*?",
}
"""What stands in the braces of these names looks like this, so that no title is taken for it."""


def amount_again(text: str) -> str:
    """Say a quantity, whose number may be about right.

    >>> amount_again("about 3.333 mm"), amount_again("1/8 in")
    ('about 3.333 mm', '1/8 in')
    """
    head, bracket, tail = text.partition(" (about ")
    if bracket:
        return f"{_about(head)} ({_('about {number}').format(number=tail)}"
    return _about(text)


def extent_again(text: str) -> str:
    """Say what is covered or asked for: sizes, or the program's own words in a list.

    >>> extent_again("sill, jamb and soffit"), extent_again("up to 6 in")
    ('sill, jamb and soffit', 'up to 6 in')
    """
    if re.fullmatch(AMOUNT, text):
        return amount_again(text)
    return list_again(text) if unknown(text) else said(text)


def list_again(text: str) -> str:
    """Say an English list of the program's own words.

    >>> list_again("“Dry fit” and “Bedding”")
    '“Dry fit” and “Bedding”'
    """
    head, together, last = text.rpartition(" and ")
    return _("{names} and {last}").format(names=head, last=last) if together else text


def _about(text: str) -> str:
    number = text.removeprefix("about ")
    return text if number == text else _("about {number}").format(number=number)


def _either(text: str) -> str:
    return amount_again(text) if unknown(text) else said(text)


def _kept(text: str) -> str:
    return text


_OWN = (
    "count", "number", "needed", "level", "most", "key", "keys", "criterion", "title", "thing",
    "description", "reason", "source", "name", "token", "text", "known", "unit", "instead",
    "formula", "deviation", "expanded", "ratio", "least", "derived", "stated", "order", "value",
    "line", "column",
)  # fmt: skip

VALUES: Mapping[str, Callable[[str], str]] = {
    **dict.fromkeys(_OWN, _kept),
    **dict.fromkeys(("amount", "other", "low", "high"), amount_again),
    **dict.fromkeys(("found", "limits", "gap", "scores"), _either),
    **dict.fromkeys(("extent", "covered", "values"), extent_again),
    "stages": list_again,
}
"""How what stands in the braces is said again; every other name holds a sentence or a phrase."""
