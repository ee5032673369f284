"""Check the numbers that go into a sum."""

from __future__ import annotations

from fractions import Fraction

from assessments.engine.errors import EngineError
from assessments.engine.numbers import Exact, to_fraction


def size(name: str, value: Exact, *, zero: bool = False) -> Fraction:
    """A size above 0, or from 0 where ``zero``; EngineError at ``name`` for anything else.

    >>> size("depth", -1)
    Traceback (most recent call last):
    assessments.engine.errors.EngineError: depth: Write a number above 0.
    """
    if isinstance(value, bool) or not isinstance(value, int | Fraction):
        raise EngineError(name, "Write a whole number or a fraction, which are exact.")
    if value < 0 or (value == 0 and not zero):
        raise EngineError(
            name, "Write a number of 0 or more." if zero else "Write a number above 0."
        )
    return to_fraction(value)
