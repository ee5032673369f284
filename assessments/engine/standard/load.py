"""Read a standard from its document; every field is checked, none is guessed."""

from __future__ import annotations

import re
from collections.abc import Mapping
from math import lcm
from typing import Any

from assessments.engine.canonical import digest
from assessments.engine.errors import EngineError
from assessments.engine.fields import (
    Document,
    at,
    choice,
    fields,
    flag,
    items,
    number,
    once,
    own_key,
    share,
    text,
)
from assessments.engine.formula import Amount
from assessments.engine.kinds import FIELDS, KINDS, load_rule
from assessments.engine.numbers import Exact, number_text, tidy, to_fraction
from assessments.engine.standard.model import Criterion, Group, Outcome, Stage, Standard
from assessments.engine.standard.pass_rule import load_pass_rule
from assessments.engine.units import UNITS, unit_named

SCHEMA = "bankermark/standard/1"
NAME = re.compile(r"[A-Za-z][A-Za-z0-9_]{0,39}", re.ASCII)
_TOP = ("schema", "program", "outcomes", "stages", "dimensions", "criteria", "pass_rule")
_CRITERION = (
    "key", "title", "stage", "kind", "critical", "not_applicable", "weight", "outcomes",
)  # fmt: skip


def load_standard(document: Mapping[str, Any]) -> Standard:
    """Read and check a standard document (FORMATS.md); EngineError at the field at fault."""
    checked = digest(document)  # first: it refuses floats, odd types and deep nesting
    fields(document, _TOP, ("about",))
    known(document, SCHEMA)
    assert isinstance(document, dict)
    outcomes = _outcomes(document)
    stages = _stages(document)
    dimensions = load_dimensions(document["dimensions"])
    criteria = tuple(
        _criterion(
            row, i, [each.key for each in stages], [each.key for each in outcomes], dimensions
        )
        for i, row in enumerate(items(document, "criteria"))
    )
    once((each.key for each in criteria), "criteria")
    with at("pass_rule"):
        pass_rule = load_pass_rule(document["pass_rule"], criteria, outcomes)
    return Standard(
        digest=checked,
        program=_program(document["program"]),
        outcomes=outcomes,
        stages=stages,
        dimensions=dimensions,
        dimension_texts={
            name: f"{row['value']} {row['unit']}" for name, row in document["dimensions"].items()
        },
        criteria=criteria,
        pass_rule=pass_rule,
        positions={each.key: i for i, each in enumerate(criteria)},
        overall=_group([(i, each.weight) for i, each in enumerate(criteria)]),
        by_outcome=tuple(
            _group(
                [
                    (i, each.weight * dict(each.outcomes)[outcome.key])
                    for i, each in enumerate(criteria)
                    if outcome.key in dict(each.outcomes)
                ]
            )
            for outcome in outcomes
        ),
    )


def _group(weights: list[tuple[int, Exact]]) -> Group:
    # Whole weights in the same proportions: sums of them are much faster than of fractions.
    scale = lcm(*(weight.denominator for _, weight in weights))
    return Group(
        tuple(
            (i, int(weight * scale), number_text(tidy(to_fraction(weight))))
            for i, weight in weights
        ),
        scale,
    )


def known(document: Mapping[str, Any], schema: str) -> None:
    """Raise EngineError unless the document says that it is of this schema."""
    if document["schema"] != schema:
        raise EngineError("schema", f"This engine reads “{schema}” here: write that.")


def load_dimensions(value: object) -> dict[str, Amount]:
    """Read the task's dimensions {name: {value, unit}}, each more than 0."""
    with at("dimensions"):
        if not isinstance(value, dict):
            raise EngineError("", "Write an object here: {…}, empty if there are none.")
        found: dict[str, Amount] = {}
        for name, row in value.items():
            with at(name):
                if not NAME.fullmatch(name) or name in UNITS or name in ("min", "max"):
                    raise EngineError(
                        "", "Name a dimension with letters, digits and _, not like a unit."
                    )
                fields(row, ("value", "unit"))
                with at("unit"):
                    unit = unit_named(row["unit"])
                    if unit.offset:
                        raise EngineError("", "A temperature cannot be a dimension.")
                amount = to_fraction(number(row, "value", above=0)) * unit.factor
                found[name] = Amount(amount, unit.dimension)
    return found


def load_criterion(document: object, dimensions: Mapping[str, Amount], stage: int = 0) -> Criterion:
    """Read one criterion; its stage and outcomes are not looked up."""
    if not isinstance(document, dict):
        raise EngineError("", "Write an object here: {…}.")
    if "kind" not in document:
        raise EngineError("kind", "The field “kind” is missing: write it.")
    kind = choice(document, "kind", KINDS)
    required, optional = FIELDS[kind]
    fields(document, (*_CRITERION, *required), (*optional, "guidance"))
    return Criterion(
        key=own_key(document),
        title=text(document, "title"),
        stage=stage,
        critical=flag(document, "critical"),
        not_applicable=flag(document, "not_applicable"),
        weight=number(document, "weight", above=0),
        outcomes=_weights(document),
        guidance=text(document, "guidance", empty=True) if "guidance" in document else "",
        rule=load_rule(kind, document, dimensions),
    )


def _criterion(
    row: object, i: int, stages: list[str], outcomes: list[str], dimensions: Mapping[str, Amount]
) -> Criterion:
    with at(f"criteria[{i}]"):
        name = row.get("stage") if isinstance(row, dict) else None
        found = load_criterion(row, dimensions, stages.index(name) if name in stages else 0)
        if name not in stages:
            raise EngineError("stage", f"There is no stage “{name}”; known: {', '.join(stages)}.")
        for key, _ in found.outcomes:
            if key not in outcomes:
                raise EngineError(
                    f"outcomes.{key}",
                    f"There is no outcome “{key}”; known: {', '.join(outcomes)}.",
                )
        return found


def _program(value: object) -> dict[str, str]:
    with at("program"):
        # A program may say more of itself than the engine needs.
        found = fields(
            value, ("code", "version", "title"), value if isinstance(value, dict) else ()
        )
        version = found["version"]
        if not (isinstance(version, str | int) and str(version)) or isinstance(version, bool):
            raise EngineError("version", "Write the version, such as 1.")
        return {
            "code": text(found, "code"),
            "version": str(version),
            "title": text(found, "title"),
        }


def _outcomes(document: Document) -> tuple[Outcome, ...]:
    found = []
    for i, row in enumerate(items(document, "outcomes")):
        with at(f"outcomes[{i}]"):
            fields(row, ("key", "statement", "minimum"))
            found.append(Outcome(own_key(row), text(row, "statement"), share(row, "minimum")))
    once((each.key for each in found), "outcomes")
    return tuple(found)


def _stages(document: Document) -> tuple[Stage, ...]:
    found = []
    for i, row in enumerate(items(document, "stages")):
        with at(f"stages[{i}]"):
            fields(row, ("key", "title", "hold_point"))
            found.append(Stage(own_key(row), text(row, "title"), flag(row, "hold_point")))
    once((each.key for each in found), "stages")
    return tuple(found)


def _weights(document: Document) -> tuple[tuple[str, Exact], ...]:
    with at("outcomes"):
        weights = document["outcomes"]
        if not isinstance(weights, dict) or not weights:
            raise EngineError(
                "", 'Write at least one outcome with its weight, such as {"O1": "1"}.'
            )
        return tuple((key, number(weights, key, above=0)) for key in sorted(weights))
