"""The words of a formula.

A number and the unit after it are one word, so that ``1/8 in`` is an eighth of an inch and never
one over eight inches. ``6 in``, ``1 1/2 in`` and ``3.5 mm`` are read in the same way.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from assessments.engine.errors import EngineError
from assessments.engine.units import UNITS

MAX_CHARACTERS = 500
FUNCTIONS = ("min", "max")

Kind = Literal["number", "name", "sign", "end"]


@dataclass(frozen=True, slots=True)
class Token:
    """One word: its text, its column from 1, and for a number its value and unit."""

    kind: Kind
    text: str
    column: int
    value: Fraction = Fraction(0)
    unit: str | None = None


_WORD = re.compile(
    r"(?P<space>\s+)"
    r"|(?P<measure>(?:(?P<whole>[0-9]+)\s+)?(?P<above>[0-9]+)\s*/\s*(?P<below>[0-9]+)"
    r"\s*(?P<unit>[A-Za-z][A-Za-z0-9]*)(?![A-Za-z0-9_]))"
    r"|(?P<number>[0-9]+(?:\.[0-9]+)?)(?:\s*(?P<unit2>[A-Za-z][A-Za-z0-9]*)(?![A-Za-z0-9_]))?"
    r"|(?P<name>[A-Za-z][A-Za-z0-9_]*)"
    r"|(?P<sign>[-+*/(),])",
    re.ASCII,
)


def tokens(formula: str) -> list[Token]:
    """The words of a formula, closed by an end word; EngineError at what is none."""
    if len(formula) > MAX_CHARACTERS:
        raise EngineError("", f"Write a formula of at most {MAX_CHARACTERS} characters.")
    found: list[Token] = []
    place = 0
    while place < len(formula):
        match = _WORD.match(formula, place)
        if match is None:
            raise wrong(place + 1, f"“{formula[place]}” has no meaning in a formula")
        if match["space"] is None:
            found.append(_token(match, place + 1, found))
        place = match.end()
    found.append(Token("end", "the end", len(formula) + 1))
    return found


def wrong(column: int, what: str) -> EngineError:
    """The error for what stands at a column of the formula."""
    return EngineError("", f"At column {column}: {what}.", column)


def _token(match: re.Match[str], column: int, before: list[Token]) -> Token:
    if match["sign"]:
        return Token("sign", match["sign"], column)
    if match["name"]:
        return Token("name", match["name"], column)
    unit = match["unit"] or match["unit2"]
    if unit is not None and unit not in UNITS:
        raise wrong(match.start("unit" if match["unit"] else "unit2") + 1, f"“{unit}” is no unit")
    if match["number"]:
        return Token("number", match["number"], column, Fraction(match["number"]), unit)
    if before and before[-1].text == "/":
        # 6 in / 1/8 in: is the eighth an inch, or the whole an area? Say it with parentheses.
        raise wrong(column, f"put parentheses around “{match['measure']}” after a division")
    if int(match["below"]) == 0:
        raise wrong(column, "a fraction cannot have 0 under the line")
    value = int(match["whole"] or 0) + Fraction(int(match["above"]), int(match["below"]))
    return Token("number", match["measure"], column, value, unit)
