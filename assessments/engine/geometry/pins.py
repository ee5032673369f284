"""Pins and the holes they stand in."""

from __future__ import annotations

from fractions import Fraction
from math import pi

from assessments.engine.errors import EngineError
from assessments.engine.geometry.sizes import size
from assessments.engine.numbers import Exact


def clearance(rod: Exact, hole: Exact) -> Fraction:
    """The gap all round a rod that stands in the middle of its hole (both by diameter).

    >>> clearance(Fraction(3, 8), Fraction(1, 2))
    Fraction(1, 16)
    """
    thick, wide = size("rod", rod), size("hole", hole)
    if thick > wide:
        raise EngineError("hole", "The rod does not go in: write a hole wider than the rod.")
    return (wide - thick) / 2


def hole_depth(shows: Exact, end_gap: Exact = 0) -> Fraction:
    """The least depth of the hole for a pin that shows so much, with a gap at its end.

    A pin that shows 3/4 in needs a hole at least 3/4 in deep, or the joint stays open.

    >>> hole_depth(Fraction(3, 4), end_gap=Fraction(1, 8))
    Fraction(7, 8)
    """
    return size("shows", shows) + size("end_gap", end_gap, zero=True)


def annulus_volume(pin: Exact, hole: Exact, length: Exact) -> float:
    """The volume of grout between a pin and its hole (diameters) over a length.

    >>> round(annulus_volume(Fraction(1, 4), Fraction(3, 8), 2), 5)
    0.12272
    """
    clearance(pin, hole)
    return (
        pi / 4 * float((size("hole", hole) ** 2 - size("pin", pin) ** 2) * size("length", length))
    )
