"""Numbers as people type them (60 %, 1 1/2 in, 24 h) to and from the exact strings we store.

An exact string is a decimal (``0.5``) or a fraction in lowest terms (``3/2``), with an optional
minus sign; nothing is ever a float. Each ``read_`` function raises ValueError with a sentence
that says what to write instead.
"""

import re
from fractions import Fraction

_MARK = '"'
_NUMBER = re.compile(
    r"(?P<sign>[-+\u2212]?)\s*"
    r"(?:(?:(?P<whole>\d{1,9})\s+)?(?P<top>\d{1,9})\s*/\s*(?P<bottom>\d{1,9})"
    r"|(?P<decimal>\d{1,9}(?:\.\d{1,9})?))"
)
_MEASURE = re.compile(_NUMBER.pattern + rf"\s*(?P<unit>°?[A-Za-z%]+[23]?|°|{_MARK})?")
_UNITS = {_MARK: "in", "inch": "in", "inches": "in", "°": "deg", "°C": "degC", "°F": "degF"}
_MINUTES = {"min": 1, "h": 60, "d": 1440}


def _exact(match: re.Match[str]) -> str:
    """Return the exact string of a matched number."""
    minus = "-" if match["sign"] in ("-", "\u2212") else ""
    if match["decimal"] is not None:
        whole, _, part = match["decimal"].partition(".")
        part = part.rstrip("0")
        text = str(int(whole)) + ("." + part if part else "")
    else:
        if int(match["bottom"]) == 0:
            raise ValueError("a fraction cannot have 0 below the line")
        top, bottom = int(match["top"]), int(match["bottom"])
        text = str(int(match["whole"] or 0) + Fraction(top, bottom))
    return text if Fraction(text) == 0 else minus + text


def read_number(text: str) -> str:
    """Return the exact string of ``2``, ``0.5``, ``1/3`` or ``1 1/2``."""
    match = _NUMBER.fullmatch(text.strip())
    if match is None:
        raise ValueError("write a number such as 2, 0.5 or 1/2")
    return _exact(match)


def write_number(exact: str) -> str:
    """Return an exact string as people write it: ``3/2`` becomes ``1 1/2``."""
    value = Fraction(exact)
    if "/" not in exact or abs(value) < 1:
        return exact
    whole, rest = divmod(abs(value), 1)
    return f"{'-' if value < 0 else ''}{whole} {rest}"


def read_share(text: str) -> str:
    """Return the exact part of 1 that ``60 %`` or ``2/3`` stands for, from 0 to 1."""
    match = _MEASURE.fullmatch(text.strip())
    if match is None or match["unit"] not in ("%", None):
        raise ValueError("write a percentage such as 60 %, or a fraction such as 2/3")
    if match["unit"] is None and match["top"] is None:
        raise ValueError(f"write the percent sign: {text.strip()} %, or a fraction such as 2/3")
    exact = _exact(match)
    if match["unit"] == "%":
        exact = str(Fraction(exact) / 100) if "/" in exact else _shift(exact, -2)
    if not 0 <= Fraction(exact) <= 1:
        raise ValueError("write a percentage from 0 % to 100 %")
    return exact


def write_share(exact: str) -> str:
    """Return a part of 1 as people write it: ``0.6`` becomes ``60 %``; ``2/3`` stays."""
    return exact if "/" in exact else f"{_shift(exact, 2)} %"


def _shift(decimal: str, places: int) -> str:
    """Move the decimal point of an exact decimal to the right, or left for negative places."""
    sign, digits = ("-", decimal[1:]) if decimal.startswith("-") else ("", decimal)
    whole, _, part = digits.partition(".")
    if places >= 0:
        part = part.ljust(places, "0")
        whole, part = whole + part[:places], part[places:]
    else:
        whole = whole.rjust(-places + 1, "0")
        whole, part = whole[:places], whole[places:] + part
    part = part.rstrip("0")
    return sign + str(int(whole)) + ("." + part if part else "")


def read_measure(text: str, unit: str | None = None) -> tuple[str, str]:
    """Return (exact number, unit) of ``1 1/2 in``; with ``unit`` given, in that unit only."""
    example = f"1/2 {unit}" if unit == "in" else f"2 {unit or 'mm'}"
    match = _MEASURE.fullmatch(text.strip())
    if match is None:
        raise ValueError(f"write a number and its unit, for example {example}")
    if match["unit"] is None:
        raise ValueError(f"write the unit too, for example {text.strip()} {unit or 'mm'}")
    found = _UNITS.get(match["unit"], match["unit"])
    if unit is not None and found != unit:
        raise ValueError(f"write it in {unit}, the unit that is named here, for example {example}")
    return _exact(match), found


def write_measure(exact: str, unit: str) -> str:
    """Return ``1 1/2 in`` for ``3/2`` and ``in``."""
    return f"{write_number(exact)} {unit}"


def read_minutes(text: str) -> str:
    """Return the exact number of minutes in ``24 h``, ``90 min`` or ``3 d``."""
    match = _MEASURE.fullmatch(text.strip())
    unit = _UNITS.get(match["unit"], match["unit"]) if match else None
    if match is None or unit not in _MINUTES:
        raise ValueError("write a time such as 24 h, 90 min or 3 d")
    return str(Fraction(_exact(match)) * _MINUTES[unit])


def write_minutes(exact: str) -> str:
    """Return a number of minutes in hours where it is a whole number of them."""
    value = Fraction(exact)
    return f"{value / 60} h" if value and value % 60 == 0 else f"{write_number(exact)} min"


def looks_like_measure(text: str) -> bool:
    """Say whether a limit is a number (with or without a unit) rather than a formula."""
    return _MEASURE.fullmatch(text.strip()) is not None
