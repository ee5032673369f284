"""Units and their dimensions, with exact factors.

Each dimension has one base unit, chosen so that what the trade reads is a whole number of it:
length in nanometres (1/64 in = 396 875 nm), mass in micrograms, time in microseconds,
temperature in kelvin, angle in degrees. Area and volume follow from length.

Factors: the inch is 25.4 mm and the pound 0.453 592 37 kg exactly (international yard and
pound, 1959; NIST Special Publication 811, appendix B).
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from assessments.engine.errors import EngineError
from assessments.engine.numbers import Exact, tidy

Dimension = tuple[int, int, int, int, int]
"""Powers of length, mass, time, temperature, angle."""

RATIO: Dimension = (0, 0, 0, 0, 0)
QUANTITIES: dict[str, Dimension] = {
    "length": (1, 0, 0, 0, 0),
    "area": (2, 0, 0, 0, 0),
    "volume": (3, 0, 0, 0, 0),
    "mass": (0, 1, 0, 0, 0),
    "time": (0, 0, 1, 0, 0),
    "temperature": (0, 0, 0, 1, 0),
    "angle": (0, 0, 0, 0, 1),
    "ratio": RATIO,
}


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit: ``base = value * factor + offset`` (the offset is that of °C and °F alone)."""

    name: str
    factor: Exact
    dimension: Dimension
    offset: Exact = 0

    def to_base(self, value: Exact) -> Exact:
        """A value in this unit, in the dimension's base unit.

        >>> UNITS["in"].to_base(Fraction(1, 64))
        396875
        """
        result = value * self.factor + self.offset
        return result if isinstance(result, int) else tidy(result)

    def from_base(self, value: Exact) -> Exact:
        """A value in the base unit, in this unit.

        >>> UNITS["in"].from_base(38100000)
        Fraction(3, 2)
        """
        return tidy(Fraction(value - self.offset) / self.factor)


def _table() -> dict[str, Unit]:
    lengths: dict[str, Exact] = {
        "nm": 1,
        "um": 1_000,
        "mm": 1_000_000,
        "cm": 10_000_000,
        "m": 1_000_000_000,
        "in": 25_400_000,
        "ft": 304_800_000,
        "yd": 914_400_000,
    }
    rows: list[tuple[str, str, Exact, Exact]] = [
        (name, "length", factor, 0) for name, factor in lengths.items()
    ]
    for name, factor in lengths.items():
        rows.append((f"{name}2", "area", factor**2, 0))
        rows.append((f"{name}3", "volume", factor**3, 0))
    rows += [
        ("mL", "volume", lengths["cm"] ** 3, 0),
        ("L", "volume", (10 * lengths["cm"]) ** 3, 0),
        ("mg", "mass", 1_000, 0),
        ("g", "mass", 1_000_000, 0),
        ("kg", "mass", 1_000_000_000, 0),
        ("oz", "mass", Fraction(453_592_370, 16), 0),
        ("lb", "mass", 453_592_370, 0),
        ("s", "time", 1_000_000, 0),
        ("min", "time", 60_000_000, 0),
        ("h", "time", 3_600_000_000, 0),
        ("d", "time", 86_400_000_000, 0),
        ("degC", "temperature", 1, Fraction("273.15")),
        ("degF", "temperature", Fraction(5, 9), Fraction("459.67") * 5 / 9),
        ("deg", "angle", 1, 0),
        ("1", "ratio", 1, 0),
        ("%", "ratio", Fraction(1, 100), 0),
    ]
    return {
        name: Unit(name, factor, QUANTITIES[quantity], offset)
        for name, quantity, factor, offset in rows
    }


UNITS: dict[str, Unit] = _table()


def unit_named(name: object, quantity: str | None = None) -> Unit:
    """The unit of that name; EngineError (empty path) where there is none, or of another kind.

    >>> unit_named("kg", "length")
    Traceback (most recent call last):
    assessments.engine.errors.EngineError: “kg” is a unit of mass; write a unit of length: \
nm, um, mm, cm, m, in, ft, yd.
    """
    unit = UNITS.get(name) if isinstance(name, str) else None
    if quantity is None:
        if unit is None:
            raise EngineError("", f"“{name}” is not a unit the engine knows: " + _list(None))
        return unit
    if unit is None:
        raise EngineError(
            "", f"“{name}” is not a unit of {quantity}; write one of {_list(quantity)}"
        )
    if unit.dimension != QUANTITIES[quantity]:
        raise EngineError(
            "",
            f"“{name}” is a unit of {dimension_name(unit.dimension)}; "
            f"write a unit of {quantity}: {_list(quantity)}",
        )
    return unit


def dimension_name(dimension: Dimension) -> str:
    """What a dimension is called: ``length``, ``area``, or powers such as ``length^-1``."""
    for name, known in QUANTITIES.items():
        if known == dimension:
            return "a plain number" if name == "ratio" else name
    names = ("length", "mass", "time", "temperature", "angle")
    return " ".join(
        f"{name}^{power}" for name, power in zip(names, dimension, strict=True) if power
    )


def _list(quantity: str | None) -> str:
    names = [
        unit.name
        for unit in UNITS.values()
        if quantity is None or unit.dimension == QUANTITIES[quantity]
    ]
    return ", ".join(names) + "."
