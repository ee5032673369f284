"""What a shift does to hands and lungs: vibration points, silica averaged over 8 hours.

Vibration: the exposure points of the HSE ready-reckoner (guidance L140 to the Control of
Vibration at Work Regulations 2005), 2·a²·t with a in m/s² and t in hours; action value 100
points (A(8) = 2.5 m/s²), limit value 400 (5 m/s²). Silica: 29 CFR 1926.1153, action level 25
and permissible exposure limit 50 µg/m³, averaged over 8 hours. Local codes come first.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from math import sqrt

from assessments.engine.errors import EngineError
from assessments.engine.geometry.sizes import size
from assessments.engine.numbers import Exact

SHIFT_MINUTES = 480
DAY_MINUTES = 1_440
ACTION_POINTS, LIMIT_POINTS = 100, 400
ACTION_LEVEL, EXPOSURE_LIMIT = 25, 50

Spells = Iterable[tuple[Exact, Exact]]


def vibration_points(spells: Spells) -> Fraction:
    """Points for spells of (vibration in m/s², trigger time in minutes).

    >>> float(vibration_points([(10, 15), (6, 30), (Fraction(7, 2), 90)]))
    122.75
    """
    checked = _checked(spells)
    return sum((2 * a**2 * minutes / 60 for a, minutes in checked), Fraction(0))


def daily_vibration(points: Exact) -> float:
    """A(8) in m/s², the steady vibration over 8 hours that makes as many points.

    >>> round(daily_vibration(Fraction("122.75")), 3)
    2.77
    """
    return sqrt(size("points", points, zero=True) / 16)


def vibration_caution(points: Exact) -> str | None:
    """What to say from the action value on; None below it."""
    found = size("points", points, zero=True)
    if found < ACTION_POINTS:
        return None
    value = "limit value of 400" if found >= LIMIT_POINTS else "action value of 100"
    what = "Stop for the day" if found >= LIMIT_POINTS else "Shorten or share the work"
    return (
        f"{what}: the {value} points (HSE L140) is reached. Cold and old tools make it worse; "
        "local codes come first."
    )


def silica_average(spells: Spells) -> Fraction:
    """The 8-hour average in µg/m³ of spells of (µg/m³, minutes); the rest of the day is clean.

    >>> silica_average([(200, 90)])
    Fraction(75, 2)
    """
    checked = _checked(spells)
    return sum((level * minutes for level, minutes in checked), Fraction(0)) / SHIFT_MINUTES


def silica_caution(average: Exact) -> str | None:
    """What to say at or above the action level; None below it."""
    found = size("average", average, zero=True)
    if found < ACTION_LEVEL:
        return None
    if found > EXPOSURE_LIMIT:
        return (
            "Stop: this is above the limit of 50 µg/m³ over 8 hours (29 CFR 1926.1153). "
            "Cut wet or with extraction, and wear what the local code asks for."
        )
    return (
        "This is at or above the action level of 25 µg/m³ over 8 hours (29 CFR 1926.1153): "
        "exposure must be assessed. Cut wet or with extraction; local codes come first."
    )


def _checked(spells: Spells) -> list[tuple[Fraction, Fraction]]:
    found = [
        (size(f"spells[{i}][0]", level, zero=True), size(f"spells[{i}][1]", minutes, zero=True))
        for i, (level, minutes) in enumerate(spells)
    ]
    if sum(minutes for _, minutes in found) > DAY_MINUTES:
        raise EngineError("spells", "The spells come to more than 24 hours: check the minutes.")
    return found
