"""What people type, held exactly."""

from __future__ import annotations

from contextlib import suppress
from fractions import Fraction

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from assessments.engine import EngineError, format_quantity, parse_length, parse_quantity
from assessments.engine.quantities import base_of
from assessments.engine.units import UNITS

# Hand-computed: 1/64 in = 25.4 mm / 64 = 0.396875 mm.
LENGTHS = [
    ("1 1/2", 38_100_000, "in"),
    ('1-1/2"', 38_100_000, "in"),
    ("1½", 38_100_000, "in"),
    ("1½ in.", 38_100_000, "in"),
    ("1 1⁄2″", 38_100_000, "in"),
    ("⅜”", 9_525_000, "in"),
    ("1.5 in", 38_100_000, "in"),
    (".5", 12_700_000, "in"),
    ("3/64", 1_190_625, "in"),
    ("1/64", 396_875, "in"),
    ("5' 2 1/2\"", 1_587_500_000, "in"),
    ("2ft 6", 762_000_000, "in"),
    ("2'-6\"", 762_000_000, "in"),
    ("6'", 1_828_800_000, "ft"),
    ("38.1 mm", 38_100_000, "mm"),
    ("38.1MM", 38_100_000, "mm"),
    ("1 1/2 mm", 1_500_000, "mm"),
    ("3.81 cm", 38_100_000, "cm"),
    ("0", 0, "in"),
    ("0.000001 mm", 1, "mm"),
    ("1000 m", 10**12, "m"),
    ("  1   1/2   in  ", 38_100_000, "in"),
    ("1\u00a01/2", 38_100_000, "in"),
]


@pytest.mark.parametrize(("typed", "nanometres", "unit"), LENGTHS)
def test_length(typed: str, nanometres: int, unit: str) -> None:
    length = parse_length(typed, "in")
    assert (length.nanometres, length.unit, length.typed) == (nanometres, unit, typed)


# What must not be guessed at, and a word of what to write instead.
REFUSED = [
    ("", "Write a number and its unit"),
    ("   ", "Write a number and its unit"),
    ("3,5 mm", "3.5 mm"),
    ("1,250 mm", "thousands"),
    ("-1/8", "0 or more"),
    ("−3 mm", "0 or more"),
    ("1/0", "0 under the line"),
    ("1 1/0", "0 under the line"),
    ("1e400", "plain digits"),
    ("1E5 mm", "plain digits"),
    ("NaN", "plain digits"),
    ("inf", "plain digits"),
    ("1/128", "nearest 1/64"),
    ("1/3 in", "nearest 1/64"),
    ("0.0000001 mm", "nanometres"),
    ("1001 m", "over 1 000 m"),
    ("9" * 39, "over 1 000 m"),
    ("9" * 41, "at most 40 characters"),
    ("1 3/2", "whole number"),
    ("1 2/2", "whole number"),
    ("1 - 1/2", "cannot be read"),
    ("1/2/3", "cannot be read"),
    ("5.", "cannot be read"),
    ("½½", "cannot be read"),
    ("two", "cannot be read"),
    ("٣ mm", "cannot be read"),
    ("10 kg", "does not fit"),
    ("8 x 3", "not a unit"),
    ("2' 3 mm", "mixes feet"),
]


@pytest.mark.parametrize(("typed", "said"), REFUSED)
def test_refused(typed: str, said: str) -> None:
    with pytest.raises(EngineError) as caught:
        parse_length(typed, "in")
    assert said in caught.value.message
    assert caught.value.path == ""
    assert caught.value.message.endswith(".")


def test_default_unit_must_be_a_length() -> None:
    with pytest.raises(EngineError, match="unit of mass"):
        parse_length("3", "kg")


@pytest.mark.parametrize("text", [None, 3, 3.5, ["1"]])
def test_only_text_can_be_parsed(text: object) -> None:
    with pytest.raises(EngineError):
        parse_length(text, "in")  # type: ignore[arg-type]


def test_other_quantities() -> None:
    assert parse_quantity("-5", "degC").value == -5
    assert parse_quantity("41°F", "degC").base == parse_quantity("5", "degC").base
    assert parse_quantity("5 lb", "kg").base == 5 * 453_592_370
    assert parse_quantity("45°", "deg").unit == "deg"
    assert parse_quantity("12 %", "%").value == 12
    with pytest.raises(EngineError, match="not a length"):
        _ = parse_quantity("5", "kg").nanometres
    with pytest.raises(EngineError, match="0 or more"):
        parse_quantity("-5 kg", "kg")


def test_a_reading_keeps_what_was_typed() -> None:
    assert parse_length("1½", "in").as_reading() == {"typed": "1½", "value": "3/2", "unit": "in"}
    assert parse_length("1.5", "in").as_reading()["value"] == "1.5"
    assert parse_length("6/2", "in").as_reading()["value"] == "3"


@given(st.integers(0, 64 * 400))
def test_every_sixty_fourth_survives(count: int) -> None:
    value = Fraction(count, 64)
    shown = format_quantity(value, "in")
    length = parse_length(shown, "mm")
    assert length.value == value
    reading = length.as_reading()
    assert base_of(reading["value"], reading["unit"], "mm") == count * 396_875


@given(st.integers(0, 10**9))
def test_every_micrometre_survives(count: int) -> None:
    shown = format_quantity(Fraction(count, 1000), "mm")
    assert parse_length(shown, "in").nanometres == count * 1000


@given(st.text(max_size=12))
def test_any_text_gives_a_length_or_an_engine_error(text: str) -> None:
    with suppress(EngineError):
        assert parse_length(text, "in").nanometres >= 0


@pytest.mark.parametrize(
    ("value", "unit", "shown"),
    [
        (Fraction(3, 2), "in", "1 1/2 in"),
        (Fraction(2), "in", "2 in"),
        (Fraction(63, 64), "in", "63/64 in"),
        (Fraction(0), "in", "0 in"),
        (Fraction(1, 128), "in", "about 0.0078 in"),
        (Fraction(1, 10), "in", "0.1 in"),
        (Fraction(381, 10), "mm", "38.1 mm"),
        (Fraction(10, 3), "mm", "about 3.333 mm"),
        (Fraction(-5), "degC", "-5 °C"),
        (Fraction(3), "1", "3"),
    ],
)
def test_shown(value: Fraction, unit: str, shown: str) -> None:
    assert format_quantity(value, unit) == shown


# Independent unit conversion: pint 0.25, its default registry, for each unit of the engine.
PINT = {"in": "inch", "ft": "foot", "yd": "yard", "um": "micrometer", "d": "day", "h": "hour",
        "L": "liter", "mL": "milliliter", "1": "dimensionless", "%": "percent"}  # fmt: skip
BASE = {(1, 0, 0, 0, 0): "nanometer", (2, 0, 0, 0, 0): "nanometer**2",
        (3, 0, 0, 0, 0): "nanometer**3", (0, 1, 0, 0, 0): "microgram",
        (0, 0, 1, 0, 0): "microsecond", (0, 0, 0, 1, 0): "kelvin", (0, 0, 0, 0, 1): "degree",
        (0, 0, 0, 0, 0): "dimensionless"}  # fmt: skip


@pytest.fixture(scope="module")
def registry() -> pint.UnitRegistry[float]:
    return pint.UnitRegistry()


@pytest.mark.parametrize("name", sorted(UNITS))
def test_units_agree_with_pint(name: str, registry: pint.UnitRegistry[float]) -> None:
    unit = UNITS[name]
    power = int(name[-1]) if name[-1] in "23" else 1
    stem = name.rstrip("23")
    text = f"{PINT.get(stem, stem)}**{power}" if power > 1 else PINT.get(stem, stem)
    converted = registry.Quantity(7, text).to(BASE[unit.dimension]).magnitude
    assert float(unit.to_base(7)) == pytest.approx(converted, rel=1e-12)
    assert unit.from_base(unit.to_base(Fraction(7, 3))) == Fraction(7, 3)
