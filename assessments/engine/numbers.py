"""Exact numbers as JSON text, and how they are shown to people."""

from __future__ import annotations

import re
from fractions import Fraction
from functools import lru_cache
from math import isqrt

from assessments.engine.errors import EngineError

Exact = int | Fraction
"""An exact number: a whole number is kept as int, which is several times faster."""

_EXACT = re.compile(r"-?[0-9]{1,30}(?:\.[0-9]{1,30}|/[0-9]{1,30})?", re.ASCII)
_HINT = 'Write an exact decimal or fraction as text, such as "0.7" or "7/10".'


def exact(text: object) -> Exact:
    """The number in a JSON text: a decimal or a fraction, nothing else.

    Raises EngineError (with an empty path) for anything else.

    >>> exact("7/10") == exact("0.7")
    True
    >>> exact("3.0")
    3
    """
    if not isinstance(text, str):
        raise EngineError("", _HINT)
    return _read(text)


@lru_cache(maxsize=8192)
def _read(text: str) -> Exact:
    if not _EXACT.fullmatch(text):
        raise EngineError("", _HINT)
    try:
        return tidy(Fraction(text))
    except ZeroDivisionError:
        raise EngineError("", "A fraction cannot have 0 under the line.") from None


def is_exact(text: object) -> bool:
    """Whether the text is an exact number rather than a formula."""
    return isinstance(text, str) and _EXACT.fullmatch(text) is not None


def to_fraction(value: Exact) -> Fraction:
    """The same number as a Fraction, so that dividing it stays exact."""
    return value if isinstance(value, Fraction) else Fraction(value)


def tidy(value: Fraction) -> Exact:
    """The same number, as int when it is whole."""
    return value.numerator if value.denominator == 1 else value


@lru_cache(maxsize=8192)
def number_text(value: Exact) -> str:
    """The one way the engine writes a number: a decimal of up to 6 places, else a fraction.

    >>> number_text(Fraction(7, 10)), number_text(Fraction(2, 3)), number_text(4)
    ('0.7', '2/3', '4')
    """
    places = decimal_places(value, 6)
    if places is None:
        return f"{value.numerator}/{value.denominator}"
    return decimal_text(value, places)


def decimal_places(value: Exact, most: int) -> int | None:
    """How many decimal places write the number exactly; None when more than ``most``."""
    for places in range(most + 1):
        if 10**places % value.denominator == 0:
            return places
    return None


def decimal_text(value: Exact, places: int, *, toward_zero: bool = False) -> str:
    """The number with so many places, halves rounded to even or cut off toward zero.

    >>> decimal_text(Fraction(2, 3), 4), decimal_text(Fraction(2, 3), 4, toward_zero=True)
    ('0.6667', '0.6666')
    """
    scaled = value * 10**places
    whole = int(abs(scaled)) if toward_zero else abs(round(scaled))
    sign = "-" if value < 0 and whole else ""
    digits = str(whole).rjust(places + 1, "0")
    return sign + (f"{digits[:-places]}.{digits[-places:]}" if places else digits)


@lru_cache(maxsize=8192)
def percent_text(score: Exact) -> str:
    """A score for people. Cut off, never rounded up: 69.999 % must not be shown as 70 %.

    >>> percent_text(Fraction(7, 10)), percent_text(Fraction(2, 3))
    ('70 %', 'about 66.66 %')
    """
    percent = score * 100
    places = decimal_places(percent, 2)
    if places is not None:
        return f"{decimal_text(percent, places)} %"
    return f"about {decimal_text(percent, 2, toward_zero=True)} %"


def root_text(square: Exact, places: int) -> str:
    """The square root of an exact number, rounded half up to so many places.

    >>> root_text(2, 4)
    '1.4142'
    """
    scale = 10**places
    # floor(2 * scale * sqrt(square)), then to the nearest half: whole numbers only.
    doubled = isqrt(4 * scale * scale * square.numerator // square.denominator)
    return decimal_text(Fraction((doubled + 1) // 2, scale), places)


def root_up(square: Exact) -> int:
    """The smallest whole number whose square is at least ``square``.

    >>> root_up(16), root_up(17), root_up(Fraction(1, 2))
    (4, 5, 1)
    """
    whole = -(-square.numerator // square.denominator)
    root = isqrt(whole)
    return root if root * root == whole else root + 1
