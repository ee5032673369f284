"""Limits derived from dimensions."""

from __future__ import annotations

from contextlib import suppress
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assessments.engine import EngineError
from assessments.engine.formula import limit
from assessments.engine.standard import load_dimensions

DIMENSIONS = load_dimensions(
    {
        "opening_width": {"value": "6", "unit": "in"},
        "joint": {"value": "1/8", "unit": "in"},
        "Face": {"value": "200", "unit": "cm2"},
        "share": {"value": "0.5", "unit": "1"},
    }
)
INCH = 25_400_000


@pytest.mark.parametrize(
    ("formula", "inches"),
    [
        ("opening_width - 2 * joint", Fraction("5.75")),
        ("opening_width-2*joint", Fraction("5.75")),
        ("opening_width - joint - joint", Fraction("5.75")),
        ("1/8 in", Fraction(1, 8)),
        ("1 1/2 in", Fraction(3, 2)),
        ("1 1/2in + 3.5 in", Fraction(5)),
        ("25.4 mm", Fraction(1)),
        ("opening_width / 4 + 1/16 in", Fraction(25, 16)),
        ("opening_width * share", Fraction(3)),
        ("(opening_width - joint) / 2", Fraction(47, 16)),
        ("opening_width / 2 / 3", Fraction(1)),
        ("min(opening_width, 5 in, 7 in)", Fraction(5)),
        ("max(opening_width, 5 in)", Fraction(6)),
        ("min(joint, max(opening_width, 1 ft))", Fraction(1, 8)),
        ("-joint + opening_width", Fraction("5.875")),
        ("--joint", Fraction(1, 8)),
        ("opening_width * opening_width / joint / 48", Fraction(6)),
        ("opening_width / (1/2 in) * 1 in", Fraction(12)),
        ("1 m / 1 mm * joint", Fraction(125)),
        ("2 * 1/8 in", Fraction(1, 4)),
        ("Face / 10 cm", Fraction(200, 10) / Fraction("2.54")),
    ],
)
def test_value(formula: str, inches: Fraction) -> None:
    assert limit(formula, DIMENSIONS, "length") == inches * INCH


@pytest.mark.parametrize(
    ("formula", "column", "said"),
    [
        ("opening_width + Face", 15, "cannot join length and area"),
        ("min(joint, Face)", 1, "cannot join"),
        ("opening_width - 2", 15, "a plain number"),
        ("opening_width * joint", 15, "comes out as area"),
        ("2", 1, "Write a unit"),
        ("joint / joint", 7, "comes out as a plain number"),
        ("opening_width - 2 * jiont", 21, "no dimension “jiont”"),
        ("opening_width / (joint - joint)", 15, "divides by zero"),
        ("joint / 0", 7, "divides by zero"),
        ("1/0 in", 1, "0 under the line"),
        ("opening_width / 1/8 in", 17, "parentheses"),
        ("3 furlong", 3, "no unit"),
        ("joint +", 8, "not the end"),
        ("joint joint", 7, "does not belong"),
        ("(joint", 7, "write “)”"),
        ("joint)", 6, "does not belong"),
        ("min joint", 5, "write “(”"),
        ("min()", 5, "write a number"),
        ("min(joint,)", 11, "write a number"),
        ("joint ** 2", 8, "write a number"),
        ("joint ^ 2", 7, "no meaning"),
        ("__import__('os')", 1, "no meaning"),
        ("joint.value", 6, "no meaning"),
        ("sqrt(joint)", 1, "no function “sqrt”"),
        ("20 degC", 1, "temperature"),
        ("½ in", 1, "no meaning"),
        ("٣ in", 1, "no meaning"),
    ],
)
def test_errors_name_the_column(formula: str, column: int, said: str) -> None:
    with pytest.raises(EngineError) as caught:
        limit(formula, DIMENSIONS, "length")
    assert caught.value.column == column
    assert said in caught.value.message
    assert f"column {column}" in caught.value.message


@pytest.mark.parametrize(
    "formula",
    ["", "   ", "(" * 31 + "joint" + ")" * 31, "-" * 32 + "joint", "min(" * 40 + "joint" + ")" * 40,
     "joint" + " + joint" * 100, "(" * 400],
)  # fmt: skip
def test_too_much_or_nothing(formula: str) -> None:
    with pytest.raises(EngineError):
        limit(formula, DIMENSIONS, "length")


def test_thirty_parentheses_are_few_enough() -> None:
    assert limit("(" * 30 + "joint" + ")" * 30, DIMENSIONS, "length") == INCH // 8


@given(st.text("opening_width joint min max()+-*/,.0123456789 in", max_size=40))
def test_any_text_is_a_length_or_an_engine_error(text: str) -> None:
    with suppress(EngineError):
        assert limit(text, DIMENSIONS, "length") is not None


COUNTS = st.integers(1, 50)


@given(COUNTS, COUNTS, COUNTS)
def test_python_agrees(a: int, b: int, c: int) -> None:
    formula = f"{a} * (opening_width - joint / {b}) + {c}/7 in"
    expected = a * (6 - Fraction(1, 8) / b) + Fraction(c, 7)
    assert limit(formula, DIMENSIONS, "length") == expected * INCH
