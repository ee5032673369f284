"""Lengths and other quantities as people type them, held exactly.

A length is a whole number of nanometres (1/64 in = 396 875 nm); the text that was typed is kept
beside it, so that a reading can be shown as it was entered.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from assessments.engine.errors import EngineError
from assessments.engine.numbers import (
    Exact,
    decimal_places,
    decimal_text,
    exact,
    number_text,
    tidy,
    to_fraction,
)
from assessments.engine.units import QUANTITIES, UNITS, Unit, dimension_name, unit_named

LENGTH = QUANTITIES["length"]
TEMPERATURE = QUANTITIES["temperature"]
LONGEST_NM = 1_000 * 10**9
_MOST_CHARACTERS = 40
_EXAMPLE = "Write a number and its unit, such as 1 1/2 in or 38.1 mm."

_VULGAR = {
    "¼": "1/4", "½": "1/2", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
    "⅓": "1/3", "⅔": "2/3", "⅕": "1/5", "⅖": "2/5", "⅗": "3/5", "⅘": "4/5", "⅙": "1/6",
    "⅚": "5/6", "⅐": "1/7", "⅑": "1/9", "⅒": "1/10",
}  # fmt: skip
_WRITTEN_UNITS = {
    "in": ('"', "''", "in.", "inch", "inches"),
    "ft": ("'", "ft.", "foot", "feet"),
    "mm": ("millimetre", "millimetres", "millimeter", "millimeters"),
    "cm": ("centimetre", "centimetres", "centimeter", "centimeters"),
    "m": ("metre", "metres", "meter", "meters"),
    "um": ("µm", "μm"),
    "degC": ("°c",),
    "degF": ("°f",),
    "deg": ("°", "degree", "degrees"),
    "lb": ("lbs",),
    "%": ("percent",),
    "1": (),
}
_UNIT_BY_TEXT = {
    text.lower(): name for name in UNITS for text in (name, *_WRITTEN_UNITS.get(name, ()))
}
_PARTS = re.compile(r"([0-9./ -]*[0-9./])\s*([^0-9\s./-].*)?")
_FEET_AND_INCHES = re.compile(r"(.*[0-9])\s*('(?!')|ft\.?|foot|feet)\s*-?\s*([0-9.].*)")
_DECIMAL = re.compile(r"[0-9]+(?:\.[0-9]+)?|\.[0-9]+")
_FRACTION = re.compile(r"(?:([0-9]+)(?: |-))?([0-9]+) ?/ ?([0-9]+)")


@dataclass(frozen=True, slots=True)
class Quantity:
    """An exact ``value`` in ``unit``, and the text it was ``typed`` as."""

    value: Fraction
    unit: str
    typed: str

    @property
    def base(self) -> Exact:
        """The value in the base unit of its dimension (nm for a length)."""
        return UNITS[self.unit].to_base(self.value)

    @property
    def nanometres(self) -> int:
        """A length in whole nanometres; EngineError for any other quantity."""
        if UNITS[self.unit].dimension != LENGTH:
            raise EngineError("", f"“{self.typed}” is not a length. {_EXAMPLE}")
        return whole_nanometres(self.base)

    def as_reading(self) -> dict[str, str]:
        """The JSON form of a reading: ``{"typed", "value", "unit"}``.

        >>> parse_length('1-1/2"', "mm").as_reading()
        {'typed': '1-1/2"', 'value': '3/2', 'unit': 'in'}
        """
        as_fraction = "/" in _plain(self.typed)
        value = str(self.value) if as_fraction else number_text(tidy(self.value))
        return {"typed": self.typed, "value": value, "unit": self.unit}


def parse_length(text: str, default_unit: str) -> Quantity:
    """The length in a text: ``1 1/2``, ``1-1/2"``, ``1½``, ``38.1 mm``, ``5' 2 1/2"``.

    ``default_unit`` (a unit of length) holds where no unit is typed. Raises EngineError, with
    an empty path and a sentence that says what to write, for everything else: a comma (which may
    mean thousands or a decimal), a negative length, less than a nanometre, over 1 000 m.

    >>> parse_length("3/64", "in").nanometres
    1190625
    >>> parse_length("3,5 mm", "mm")
    Traceback (most recent call last):
    assessments.engine.errors.EngineError: Write “3,5 mm” with a point instead of a comma, such \
as 3.5 mm, and without thousands separators.
    """
    unit_named(default_unit, "length")
    return parse_quantity(text, default_unit)


def parse_quantity(text: str, unit: str) -> Quantity:
    """The quantity in a text; ``unit`` holds where none is typed, and says what is asked for.

    Raises EngineError as parse_length does, also for a typed unit of another dimension. Only a
    temperature may be negative.

    >>> parse_quantity("65 °F", "degC").value
    Fraction(65, 1)
    """
    asked = unit_named(unit)
    if not isinstance(text, str) or not text.strip():
        raise EngineError("", _EXAMPLE)
    if len(text) > _MOST_CHARACTERS:
        raise EngineError("", f"Write at most {_MOST_CHARACTERS} characters. {_EXAMPLE}")
    plain = _plain(text)
    negative = plain.startswith("-")
    if negative and asked.dimension != TEMPERATURE:
        raise EngineError(
            "", f"“{text}” is negative: write 0 or more, and record a fault as its own size."
        )
    _refuse_signs(text, plain)
    value, found = _read(text, plain.lstrip("-").strip(), asked)
    if negative:
        value = -value
    if found.dimension == LENGTH:
        whole_nanometres(found.to_base(value))
    return Quantity(value=value, unit=found.name, typed=text)


def whole_nanometres(base: Exact) -> int:
    """A length in nanometres, checked: whole, not negative, at most 1 000 m."""
    if not isinstance(base, int):
        raise EngineError(
            "", "Write a length to the nearest 1/64 in, or as a decimal: this one is no whole "
            "number of nanometres.",
        )  # fmt: skip
    if base < 0:
        raise EngineError("", "A length cannot be negative: write 0 or more.")
    if base > LONGEST_NM:
        raise EngineError("", "This length is over 1 000 m: check the number and its unit.")
    return base


@lru_cache(maxsize=8192)
def base_of(value: str, unit: str, asked: str) -> Exact:
    """A reading of a document, in the base unit; ``asked`` is the unit of its criterion.

    Raises EngineError at ``value`` or ``unit``.
    """
    found, wanted = UNITS.get(unit), UNITS[asked]
    if found is None or found.dimension != wanted.dimension:
        quantity = dimension_name(wanted.dimension)
        raise EngineError("unit", f"“{unit}” does not fit: this is a {quantity} in {asked}.")
    try:
        base = found.to_base(exact(value))
        if found.dimension == LENGTH:
            return whole_nanometres(base)
    except EngineError as error:
        raise error.under("value") from None
    if base < 0:  # a temperature below absolute zero is as wrong as a negative mass
        raise EngineError("value", "Write 0 or more.")
    return base


def format_quantity(value: Exact, unit: str) -> str:
    """A value with its unit, for people: inches as a mixed fraction to 1/64, else a decimal.

    What has no such form exactly is rounded and marked ``about``.

    >>> format_quantity(Fraction(3, 2), "in"), format_quantity(Fraction(381, 10), "mm")
    ('1 1/2 in', '38.1 mm')
    >>> format_quantity(Fraction(10, 3), "mm")
    'about 3.333 mm'
    """
    shown = {"degC": "°C", "degF": "°F", "deg": "°", "1": ""}.get(unit, unit)
    number = _mixed(value) if unit in ("in", "ft") and 64 % value.denominator == 0 else None
    if number is None:
        places = decimal_places(value, 6)
        rounded = 3 if unit == "mm" else 4
        number = decimal_text(value, rounded if places is None else places)
        if places is None:
            number = f"about {number}"
    return f"{number} {shown}".rstrip()


@lru_cache(maxsize=8192)
def base_text(base: Exact, unit: str) -> str:
    """A value in the base unit, shown in ``unit`` (see format_quantity)."""
    return format_quantity(UNITS[unit].from_base(base), unit)


@lru_cache(maxsize=8192)
def difference_text(base: Exact, unit: str) -> str:
    """A difference in the base unit, shown in ``unit``: without the offset of °C and °F."""
    return format_quantity(tidy(Fraction(base) / UNITS[unit].factor), unit)


def _mixed(value: Exact) -> str:
    sign = "-" if value < 0 else ""
    whole, rest = divmod(abs(to_fraction(value)), 1)
    if not rest:
        return f"{sign}{whole}"
    return f"{sign}{whole} {rest}" if whole else f"{sign}{rest}"


def _plain(text: str) -> str:
    """The text in lower case with plain fractions, signs, spaces and marks."""
    for sign, fraction in _VULGAR.items():
        text = text.replace(sign, f" {fraction}")
    for signs, sign in (("−–‒‐‑", "-"), ("⁄∕", "/"), ("″”“„＂", '"'), ("′’‘", "'")):
        for found in signs:
            text = text.replace(found, sign)
    return " ".join(text.lower().split())


def _refuse_signs(text: str, plain: str) -> None:
    if "," in plain:
        instead = plain.replace(",", ".")
        raise EngineError(
            "",
            f"Write “{text}” with a point instead of a comma, such as {instead}, "
            "and without thousands separators.",
        )
    if re.search(r"[0-9]\s*e\s*[-+]?[0-9]", plain) or re.match(r"[-+]?(nan|inf)", plain):
        raise EngineError("", f"Write “{text}” in plain digits. {_EXAMPLE}")


def _read(text: str, plain: str, asked: Unit) -> tuple[Fraction, Unit]:
    both = _FEET_AND_INCHES.fullmatch(plain)
    if both and asked.dimension == LENGTH:
        rest, unit = _split(text, both[3], UNITS["in"])
        if unit.name != "in":
            raise EngineError("", f"“{text}” mixes feet with {unit.name}: write one unit.")
        return _number(text, both[1]) * 12 + rest, unit
    return _split(text, plain, asked)


def _split(text: str, plain: str, asked: Unit) -> tuple[Fraction, Unit]:
    parts = _PARTS.fullmatch(plain)
    if parts is None:
        raise EngineError("", f"“{text}” cannot be read. {_EXAMPLE}")
    name = parts[2]
    if name is None:
        return _number(text, parts[1].strip()), asked
    found = _UNIT_BY_TEXT.get(name)
    if found is None:
        raise EngineError("", f"“{name}” is not a unit known here. {_EXAMPLE}")
    quantity = dimension_name(asked.dimension)
    if UNITS[found].dimension != asked.dimension:
        raise EngineError("", f"“{name}” does not fit: write a {quantity} in {asked.name}.")
    return _number(text, parts[1].strip()), UNITS[found]


def _number(text: str, digits: str) -> Fraction:
    if _DECIMAL.fullmatch(digits):
        return Fraction(digits)
    parts = _FRACTION.fullmatch(digits)
    if parts is None:
        raise EngineError("", f"“{text}” cannot be read. {_EXAMPLE}")
    whole, above, below = int(parts[1] or 0), int(parts[2]), int(parts[3])
    if below == 0:
        raise EngineError("", f"“{text}” has 0 under the line of its fraction.")
    if parts[1] and above >= below:
        raise EngineError(
            "", f"In “{text}” the fraction is 1 or more: write the whole number it makes."
        )
    return whole + Fraction(above, below)
