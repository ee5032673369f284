"""The mass of a piece, and a caution where one person should not lift it."""

from __future__ import annotations

from fractions import Fraction
from typing import Literal

from assessments.engine.geometry.sizes import size
from assessments.engine.numbers import Exact
from assessments.engine.units import UNITS

KILOGRAMS_PER_CUBIC_METRE = Fraction("0.45359237") / Fraction("0.3048") ** 3
"""One pound per cubic foot in kg/m³ (international pound and foot), about 16.018."""

# Guide figures from memory, to be checked against the current text of each source.
_GUIDES = {
    "niosh": (
        Fraction(51) * Fraction("0.45359237"),
        "51 lb, the load constant of the revised NIOSH lifting equation (NIOSH 94-110)",
    ),
    "hse": (
        Fraction(25),
        "25 kg, the guideline filter of HSE guidance L23 for men, 16 kg for women",
    ),
}


def mass_kilograms(volume_mm3: Exact, density_kg_m3: Exact) -> Fraction:
    """The mass in kg of a volume in mm³ at a density in kg/m³.

    >>> round(float(mass_kilograms(144 * 94 * 72, 2250)), 2)
    2.19
    """
    return size("volume_mm3", volume_mm3) * size("density_kg_m3", density_kg_m3) / 10**9


def mass_pounds(volume_in3: Exact, density_pcf: Exact) -> Fraction:
    """The mass in lb of a volume in cubic inches at a density in pounds per cubic foot.

    >>> round(float(mass_pounds(Fraction("5.75") * Fraction("3.75") * Fraction("2.875"), 140)), 2)
    5.02
    """
    return size("volume_in3", volume_in3) * size("density_pcf", density_pcf) / 12**3


def lifting_caution(
    mass: Exact, unit: Literal["kg", "lb"], guide: Literal["niosh", "hse"]
) -> str | None:
    """What to say above a guide figure; None at or below it.

    >>> lifting_caution(52, "lb", "niosh") is None, lifting_caution(20, "kg", "niosh") is None
    (False, True)
    """
    kilograms = size("mass", mass) * UNITS[unit].factor / UNITS["kg"].factor
    limit, source = _GUIDES[guide]
    if kilograms <= limit:
        return None
    return (
        f"Do not lift this alone: it is above {source}. Reach, height and footing "
        "lower the figure. Use a hoist or more hands; local codes and licensed practice come first."
    )
