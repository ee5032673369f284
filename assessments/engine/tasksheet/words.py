"""How sizes, volumes and cautions are said on the sheet."""

from __future__ import annotations

from fractions import Fraction
from math import ceil

from assessments.engine.numbers import Exact, decimal_places, decimal_text, tidy
from assessments.engine.quantities import format_quantity
from assessments.engine.units import UNITS

DEFERRING = "Local codes and licensed practice come first."
FLUID_OUNCE_IN3 = Fraction(231, 128)
"""A US fluid ounce in cubic inches: 1/128 of the gallon of 231 in³ (NIST Handbook 44, app. C)."""


def rounded(value: Exact, unit: str) -> str:
    """A value to two places (four below 1), marked ``about`` unless it is exact to three.

    >>> rounded(Fraction(989, 200), "L"), rounded(Fraction(1, 3), "lb")
    ('4.945 L', 'about 0.3333 lb')
    """
    most = 2 if value >= 1 else 4
    places = decimal_places(value, max(most, 3))
    number = decimal_text(value, most if places is None else places)
    return f"{number} {unit}" if places is not None else f"about {number} {unit}"


def root(value: float, unit: str) -> str:
    """A length that came out of a root; inches also as a fraction, rounded up to 1/64.

    >>> root(1.8708286933869707, "in")
    'about 1.8708 in (1 7/8 in when rounded up to 1/64)'
    """
    exact = tidy(Fraction(value))
    said = format_quantity(exact, unit)
    if unit != "in" or not said.startswith("about"):
        return said
    up = format_quantity(tidy(Fraction(ceil(exact * 64), 64)), unit)
    return f"{said} ({up} when rounded up to 1/64)"


def volume(value: Exact, unit: str) -> str:
    """A volume in the cube of ``unit``: litres or millilitres, or cubic inches and US fl oz.

    >>> volume(3_000_000, "mm"), volume(2_500, "mm"), volume(Fraction(231, 64), "in")
    ('3 L', '2.5 mL', 'about 3.61 in³ (2 US fl oz)')
    """
    if unit == "in":
        ounces = tidy(Fraction(value) / FLUID_OUNCE_IN3)
        return f"{rounded(value, 'in³')} ({rounded(ounces, 'US fl oz')})"
    litres = tidy(Fraction(value) * UNITS["mm3"].factor / UNITS["L"].factor)
    if litres < Fraction(1, 10):
        return rounded(tidy(Fraction(litres) * 1000), "mL")
    return rounded(litres, "L")


def caution(text: str, source: str) -> tuple[str, str]:
    """A caution that ends by deferring to local codes.

    >>> caution("Cut wet.", "29 CFR 1926.1153")
    ('Cut wet. Local codes and licensed practice come first.', '29 CFR 1926.1153')
    """
    return (text if text.endswith(DEFERRING) else f"{text} {DEFERRING}"), source
