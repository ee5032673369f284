"""What a post of work asks for, in the variables of a standard's rules."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from assessments.engine.errors import EngineError
from assessments.engine.fields import at, fields, number
from assessments.engine.numbers import Exact
from assessments.engine.qualification.model import Extent, Rules, Variable
from assessments.engine.qualification.words import said, sentence
from assessments.engine.units import UNITS, Unit, dimension_name, unit_named


@dataclass(frozen=True, slots=True)
class Need:
    """What is asked for, one extent for each variable asked; the others are not asked about."""

    extents: tuple[Extent, ...]


def load_need(rules: Rules, document: object) -> Need:
    """Read a need: {key: value, [values] or {from, to, unit}}; EngineError at the key at fault.

    ``from`` and ``to`` are exact texts in ``unit``, any of the variable's quantity; one of them
    may be null or left out, and then every size on that side is asked for. The extents come in
    the order of the rules.
    """
    if not isinstance(document, dict):
        raise EngineError("", "Write an object here: {…}, empty if nothing is asked for.")
    keys = [each.key for each in rules.variables]
    for name in document:
        if name not in keys:
            raise EngineError(
                str(name), f"The rules have no variable “{name}”; known: {', '.join(keys)}."
            )
    found = []
    for variable in rules.variables:
        if variable.key in document:
            with at(variable.key):
                found.append(_asked(variable, document[variable.key]))
    return Need(tuple(found))


def _asked(variable: Variable, value: Any) -> Extent:
    if variable.kind == "window":
        return _sizes(variable, value)
    values = value if isinstance(value, list) else [value]
    if not values:
        raise EngineError("", "Write at least one value, or leave the variable out.")
    for each in values:
        if each not in variable.values:
            known = ", ".join(variable.values)
            what = f"“{each}” is not known here" if isinstance(each, str) else "Write one of them"
            raise EngineError("", f"{what}; known: {known}.")
    # In the order of the rules, whatever the order typed; a value typed twice is asked once.
    ordered = tuple(each for each in variable.values if each in values)
    return Extent(variable.key, variable.title, values=ordered)


def _sizes(variable: Variable, value: object) -> Extent:
    assert variable.unit is not None
    found = fields(value, ("unit",), ("from", "to"))
    with at("unit"):
        quantity = dimension_name(UNITS[variable.unit].dimension)
        unit = unit_named(found["unit"])
        if unit.dimension != UNITS[variable.unit].dimension:
            alike = [
                each.name for each in UNITS.values()
                if each.dimension == UNITS[variable.unit].dimension
            ]  # fmt: skip
            raise EngineError("", f"Write a unit of {quantity}: {', '.join(alike)}.")
    low, high = _end(found, "from", unit), _end(found, "to", unit)
    if low is None and high is None:
        raise EngineError("", "Write “from”, “to” or both, or leave the variable out.")
    if low is not None and high is not None and low > high:
        raise EngineError("to", "Write a size that is not below “from”.")
    return Extent(variable.key, variable.title, low=low, high=high, unit=unit.name)


def _end(found: dict[str, Any], name: str, unit: Unit) -> Exact | None:
    if found.get(name) is None:
        return None
    return unit.to_base(number(found, name, above=0))


def need_rows(need: Need) -> list[dict[str, str]]:
    """{key, title, asks} of each variable asked about, in sentences."""
    return [
        {"key": each.key, "title": each.title, "asks": sentence(said(each))}
        for each in need.extents
    ]
