"""The exact value of a formula, with its units checked on the way."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from assessments.engine.errors import EngineError
from assessments.engine.formula.parse import Node, parse
from assessments.engine.formula.tokens import FUNCTIONS, wrong
from assessments.engine.numbers import Exact, tidy
from assessments.engine.units import QUANTITIES, RATIO, UNITS, Dimension, dimension_name


@dataclass(frozen=True, slots=True)
class Amount:
    """An exact value in the base units of its dimension (nm, nm², …)."""

    value: Fraction
    dimension: Dimension


def limit(formula: str, dimensions: Mapping[str, Amount], quantity: str) -> Exact:
    """The value of a formula that must come out as ``quantity``, in its base unit.

    >>> opening, joint = Amount(Fraction(152_400_000), QUANTITIES["length"]), Amount(
    ...     Fraction(3_175_000), QUANTITIES["length"])
    >>> limit("opening - 2 * joint", {"opening": opening, "joint": joint}, "length")
    146050000
    """
    tree = parse(formula)
    amount = evaluate(tree, dimensions)
    if amount.dimension != QUANTITIES[quantity]:
        example = (
            " Write a unit after each number, such as 1/8 in." if tree.token.unit is None else ""
        )
        raise EngineError(
            "",
            f"At column {tree.token.column}: this comes out as {dimension_name(amount.dimension)}, "
            f"but the criterion is a {quantity}.{example}",
            tree.token.column,
        )
    return tidy(amount.value)


def evaluate(node: Node, dimensions: Mapping[str, Amount]) -> Amount:
    """The value of a tree; EngineError at the column where the units do not fit."""
    token = node.token
    if token.kind == "number":
        if token.unit is None:
            return Amount(token.value, RATIO)
        unit = UNITS[token.unit]
        if unit.offset:
            raise wrong(token.column, "a temperature cannot stand in a formula")
        return Amount(Fraction(unit.to_base(token.value)), unit.dimension)
    if token.kind == "name" and token.text not in FUNCTIONS:
        if token.text not in dimensions:
            known = ", ".join(sorted(dimensions)) or "none"
            raise wrong(token.column, f"there is no dimension “{token.text}”; known: {known}")
        return dimensions[token.text]
    parts = [evaluate(part, dimensions) for part in node.parts]
    if token.text == "*":
        return Amount(parts[0].value * parts[1].value, _powers(parts[0], parts[1], 1))
    if token.text == "/":
        if parts[1].value == 0:
            raise wrong(token.column, "this divides by zero")
        return Amount(parts[0].value / parts[1].value, _powers(parts[0], parts[1], -1))
    return _same_kind(node, parts)


def _same_kind(node: Node, parts: list[Amount]) -> Amount:
    """Sums, differences, min and max: the parts must be of one dimension."""
    first = parts[0]
    for part in parts[1:]:
        if part.dimension != first.dimension:
            names = f"{dimension_name(first.dimension)} and {dimension_name(part.dimension)}"
            raise wrong(node.token.column, f"“{node.token.text}” cannot join {names}")
    values = [part.value for part in parts]
    match node.token.text:
        case "+":
            value = values[0] + values[1]
        case "-":
            value = values[0] - values[1] if len(values) == 2 else -values[0]
        case "min":
            value = min(values)
        case _:
            value = max(values)
    return Amount(value, first.dimension)


def _powers(left: Amount, right: Amount, sign: int) -> Dimension:
    a, b = left.dimension, right.dimension
    return (
        a[0] + sign * b[0],
        a[1] + sign * b[1],
        a[2] + sign * b[2],
        a[3] + sign * b[3],
        a[4] + sign * b[4],
    )
