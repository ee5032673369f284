"""Read the rules of qualification from a standard or a program file's document."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, cast

from assessments.engine.errors import EngineError
from assessments.engine.fields import (
    Document,
    at,
    choice,
    fields,
    items,
    number,
    once,
    own_key,
    text,
    whole,
)
from assessments.engine.formula import Amount
from assessments.engine.numbers import Exact, tidy, to_fraction
from assessments.engine.qualification.model import Continuity, Kind, Renewal, Rules, Variable
from assessments.engine.units import Unit, dimension_name, unit_named

KINDS = ("ordered", "as_assessed", "window")
_COMMON = ("key", "title", "kind", "source")
MOST_MONTHS = 120
MOST_DAYS = 366


def load_rules(
    document: object, dimensions: Mapping[str, Amount], stages: Sequence[str] = ()
) -> Rules:
    """Read ``about.qualification`` (FORMATS.md); EngineError at the field at fault.

    ``dimensions`` are those of the task. The stages that a renewal names must be among
    ``stages``, the keys of the task's stages; with none given they are not looked up.
    """
    found = fields(document, ("basis", "variables"), ("continuity", "renewal"))
    variables = []
    for i, row in enumerate(items(found, "variables")):
        with at(f"variables[{i}]"):
            variables.append(_variable(row, dimensions))
    once((each.key for each in variables), "variables")
    return Rules(
        basis=text(found, "basis"),
        variables=tuple(variables),
        continuity=_continuity(found.get("continuity")),
        renewal=_renewal(found.get("renewal"), stages),
    )


def _variable(row: object, dimensions: Mapping[str, Amount]) -> Variable:
    if not isinstance(row, dict):
        raise EngineError("", "Write an object here: {…}.")
    if "kind" not in row:
        raise EngineError("kind", "The field “kind” is missing: write it.")
    kind = cast(Kind, choice(row, "kind", KINDS))
    if kind == "window":
        return _window(row, dimensions)
    fields(row, (*_COMMON, "values", "assessed"))
    values = _texts(row, "values")
    return Variable(
        key=own_key(row),
        title=text(row, "title"),
        kind=kind,
        source=text(row, "source"),
        values=values,
        assessed=_assessed(row, kind, values),
    )


def _texts(row: Document, name: str) -> tuple[str, ...]:
    found: list[str] = []
    for i, value in enumerate(items(row, name)):
        with at(f"{name}[{i}]"):
            if not isinstance(value, str) or not value.strip():
                raise EngineError("", "Write text here, not empty.")
            if value in found:
                raise EngineError("", f"“{value}” stands twice: write it once.")
            found.append(value)
    return tuple(found)


def _assessed(row: Document, kind: Kind, values: tuple[str, ...]) -> tuple[str, ...]:
    if kind == "as_assessed" and isinstance(row["assessed"], list):
        found = _texts(row, "assessed")
        for i, value in enumerate(found):
            _one_of(f"assessed[{i}]", value, values)
        return found
    value = text(row, "assessed")
    _one_of("assessed", value, values)
    return (value,)


def _one_of(path: str, value: str, values: tuple[str, ...]) -> None:
    if value not in values:
        raise EngineError(path, f"“{value}” is not among the values: {', '.join(values)}.")


def _window(row: dict[str, Any], dimensions: Mapping[str, Amount]) -> Variable:
    fields(row, (*_COMMON, "unit", "from", "to"), ("assessed", "dimension"))
    with at("unit"):
        unit = unit_named(row["unit"])
        if unit.offset:
            raise EngineError("", "A factor on a temperature says nothing: take another unit.")
    size = _size(row, unit, dimensions)
    low, high = _factor(row, "from"), _factor(row, "to")
    if low is None and high is None:
        raise EngineError(
            "from", "A window without any end covers everything: write one, or leave it out."
        )
    if low is not None and low > 1:
        raise EngineError("from", "Write 1 or less: what was assessed is covered itself.")
    if high is not None and high < 1:
        raise EngineError("to", "Write 1 or more: what was assessed is covered itself.")
    return Variable(
        key=own_key(row),
        title=text(row, "title"),
        kind="window",
        source=text(row, "source"),
        unit=unit.name,
        size=size,
        low=low,
        high=high,
    )


def _factor(row: Document, name: str) -> Exact | None:
    return None if row[name] is None else number(row, name, above=0)


def _size(row: Document, unit: Unit, dimensions: Mapping[str, Amount]) -> Exact:
    if (row.get("assessed") is None) == (row.get("dimension") is None):
        raise EngineError(
            "assessed",
            "Write the size assessed here, or name a dimension of the task: one of both.",
        )
    if row.get("assessed") is not None:
        return unit.to_base(number(row, "assessed", above=0))
    name = text(row, "dimension")
    if name not in dimensions:
        known = ", ".join(dimensions) or "none"
        raise EngineError("dimension", f"There is no dimension “{name}”; known: {known}.")
    amount = dimensions[name]
    if amount.dimension != unit.dimension:
        quantity = dimension_name(amount.dimension)
        raise EngineError("unit", f"“{name}” is given as {quantity}: write a unit of that.")
    return tidy(to_fraction(amount.value))


def _continuity(value: object) -> Continuity | None:
    if value is None:
        return None
    with at("continuity"):
        found = fields(value, ("every_months", "grace_days"))
        return Continuity(
            whole(found, "every_months", 1, MOST_MONTHS), whole(found, "grace_days", 0, MOST_DAYS)
        )


def _renewal(value: object, stages: Sequence[str]) -> Renewal | None:
    if value is None:
        return None
    with at("renewal"):
        found = fields(value, ("before_days", "after_days", "stages"))
        named = _texts(found, "stages")
        for i, name in enumerate(named):
            if stages and name not in stages:
                known = ", ".join(stages)
                raise EngineError(f"stages[{i}]", f"There is no stage “{name}”; known: {known}.")
        return Renewal(
            whole(found, "before_days", 0, MOST_DAYS),
            whole(found, "after_days", 0, MOST_DAYS),
            named,
        )
