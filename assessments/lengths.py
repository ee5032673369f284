"""Lengths as the reader wants them, in inches or millimeters, whichever they were taken in.

What was taken always stands in brackets beside what is shown instead: that is what counts. All
arithmetic is exact. Millimeters are shown to 0.1 mm, inches to the nearest 1/64 in; ``≈`` marks
what is not exactly so, and ``<`` what is smaller than that step. The inch is 25.4 mm exactly
(international yard and pound, 1959; NIST Special Publication 811, appendix B).

Numbers are written with the decimal sign of the active language.
"""

import re
from fractions import Fraction
from functools import lru_cache

from django.utils.formats import get_format
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from assessments.engine.numbers import Exact, decimal_text, exact, percent_text, tidy
from assessments.engine.quantities import format_quantity
from assessments.engine.units import UNITS
from training.reader import lengths_wanted
from training.said import said

INCH, MILLIMETER = "in", "mm"
# Units in which a length is read as it is by who wants the one or the other.
SAME = {INCH: ("in", "ft", "yd"), MILLIMETER: ("mm", "cm", "m", "um", "nm")}
STEP = {INCH: Fraction(1, 64), MILLIMETER: Fraction(1, 10)}
# The same limits and sentences are told again and again, for the same few kinds of reader.
KEPT = 4096
LENGTHS = (*SAME[INCH], *SAME[MILLIMETER])

_ABOUT = "about "
# “in” is a word as well, so what comes after it has to be what comes after a quantity.
_LENGTH = re.compile(
    r"(?<![\w./,-])(?P<about>about )?(?P<number>\d+ \d+/\d+|\d+/\d+|\d+(?:\.\d+)?) "
    r"(?P<unit>in|ft|yd|mm|cm|m|um)"
    r"(?=$|[.,;:)!?”]|\s*[×x–]\s|\s(?:to|too|or|and|exactly|is|was|by|but|more|less|at)\b)"
)
_DECIMAL = re.compile(r"(?<![\w.,/-])(\d+)\.(\d+)(?![\w/]|\.\d)")


def in_other_unit(value: Exact, unit: str, wanted: str, *, rounded: bool = False) -> str:
    """Return a length in the unit ``wanted``; empty where it is read as it is.

    ``wanted`` is ``in``, ``mm`` or nothing; what is no length is read as it is. ``rounded`` says
    that ``value`` itself is not exact. Plain text with a decimal point.

    >>> in_other_unit(Fraction(3, 16), "in", "mm"), in_other_unit(Fraction(3, 2), "in", "mm")
    ('≈ 4.8 mm', '38.1 mm')
    >>> in_other_unit(12, "mm", "in"), in_other_unit(Fraction(381, 10), "mm", "in")
    ('≈ 15/32 in', '1 1/2 in')
    """
    if wanted not in SAME or unit not in LENGTHS or unit in SAME[wanted]:
        return ""
    step = STEP[wanted]
    there = Fraction(value) * UNITS[unit].factor / UNITS[wanted].factor
    steps = round(there / step)
    if there and not steps:
        return f"< {_plain(step, wanted)}"
    text = _plain(steps * step, wanted)
    return f"≈ {text}" if rounded or steps * step != there else text


def shown(value: Exact, unit: str) -> str:
    """Return a quantity for the active reader; a length taken in the other unit in brackets.

    ``1/16 in`` is ``≈ 1.6 mm (1/16 in)`` for who reads millimeters.
    """
    return _shown(value, unit, lengths_wanted(), get_language())


@lru_cache(maxsize=KEPT)
def _shown(value: Exact, unit: str, wanted: str, language: str | None) -> str:
    taken = numbers(format_quantity(value, unit))
    other = in_other_unit(value, unit, wanted)
    return f"{numbers(other)} ({taken})" if other else taken


def mark_text(exact_text: str, unit: str, text: str) -> str:
    """Return the label of a mark on a number line, in the unit wanted alone.

    ``exact_text`` is its value in ``unit``, ``text`` how the engine shows it: there is little
    room in a drawing, and what was taken stands in the sentence beside it.
    """
    return _mark_text(exact_text, unit, text, lengths_wanted(), get_language())


@lru_cache(maxsize=KEPT)
def _mark_text(exact_text: str, unit: str, text: str, wanted: str, language: str | None) -> str:
    return numbers(in_other_unit(exact(exact_text), unit, wanted) or text)


def lengths_in(sentence: str) -> str:
    """Return an English sentence of the engine with its lengths in the unit wanted.

    What was taken stands in brackets behind each; other quantities stay.
    """
    wanted = lengths_wanted()
    return _lengths_in(sentence, wanted) if wanted in SAME else sentence


@lru_cache(maxsize=KEPT)
def _lengths_in(sentence: str, wanted: str) -> str:
    def other(found: re.Match[str]) -> str:
        value = sum((Fraction(part) for part in found["number"].split()), Fraction())
        instead = in_other_unit(value, found["unit"], wanted, rounded=bool(found["about"]))
        return f"{instead} ({found[0]})" if instead else found[0]

    return _LENGTH.sub(other, sentence)


def told(sentence: str) -> str:
    """Return an English sentence of the engine in the reader's language, lengths and numbers."""
    return numbers(said(lengths_in(sentence)))


def numbers(text: str) -> str:
    """Return ``text`` with the decimal sign of the active language, and its word for “about”.

    ``2.5 mm`` is ``2,5 mm`` in Spain and stays in Mexico. Versions such as 1.2.3 and what is
    part of a word stay.
    """
    sign = str(get_format("DECIMAL_SEPARATOR"))
    if text.startswith(_ABOUT):
        text = _("about {number}").format(number=text.removeprefix(_ABOUT))
    return text if sign == "." else _DECIMAL.sub(rf"\1{sign}\2", text)


def percent(score: Exact) -> str:
    """Return a score from 0 to 1 as a percentage, never rounded up, for the active reader."""
    return numbers(percent_text(score))


def _plain(value: Fraction, unit: str) -> str:
    if unit == INCH:
        return format_quantity(tidy(value), unit)
    return f"{decimal_text(value, 0 if value.denominator == 1 else 1)} {unit}"
