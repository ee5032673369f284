"""Small documents for the engine's tests, with invented keys."""

from __future__ import annotations

import copy
import re
from collections.abc import Mapping, Sequence
from typing import Any

Document = dict[str, Any]

COMMON: Document = {
    "title": "As drawn",
    "stage": "S1",
    "critical": False,
    "not_applicable": False,
    "weight": "1",
    "outcomes": {"O1": "1"},
    "guidance": "",
}


def checked(key: str = "A", **changes: Any) -> Document:
    """A yes-or-no criterion; yes is expected."""
    return {**COMMON, "key": key, "kind": "checked", "expected": True, **changes}


def rated(key: str = "R", points: Sequence[str] = ("0", "1", "2", "4"), **changes: Any) -> Document:
    """A rated criterion, met from level 2."""
    levels = [{"points": each, "description": f"Worth {each}"} for each in points]
    return {**COMMON, "key": key, "kind": "rated", "levels": levels, "met_from": 2, **changes}


def measured(
    key: str = "M", lower: str | None = "5", upper: str | None = "10", **changes: Any
) -> Document:
    """A measured criterion in millimetres: one reading, simple acceptance."""
    return {
        **COMMON,
        "key": key,
        "kind": "measured",
        "quantity": "length",
        "unit": "mm",
        "readings": 1,
        "statistic": "each",
        "limits": {"lower": lower, "upper": upper},
        "limits_source": "task sheet",
        "instrument": {
            "name": "Steel rule",
            "maximum_permissible_error": "0",
            "resolution": "1",
            "ends": 1,
        },
        "decision_rule": {"kind": "simple"},
        "coverage_factor": "2",
        "minimum_ratio": None,
        **changes,
    }


def counted(
    key: str = "N", lower: str | None = None, upper: str | None = "2", **changes: Any
) -> Document:
    """A counted criterion: at most two."""
    limits = {"lower": lower, "upper": upper}
    return {**COMMON, "key": key, "kind": "counted", "what": "voids", "limits": limits, **changes}


def timed(
    key: str = "T", lower: str | None = "60", upper: str | None = None, **changes: Any
) -> Document:
    """A timed criterion: at least an hour."""
    limits = {"lower": lower, "upper": upper}
    return {**COMMON, "key": key, "kind": "timed", "unit": "min", "limits": limits, **changes}


def standard(*criteria: Document, **changes: Any) -> Document:
    """A standard of these criteria; ``changes`` go to the top or to the pass rule."""
    top: Document = {
        "schema": "bankermark/standard/1",
        "program": {"code": "TRIAL", "version": "1", "title": "Trial piece"},
        "outcomes": [
            {"key": "O1", "statement": "Cuts true", "minimum": None},
            {"key": "O2", "statement": "Fits tight", "minimum": None},
        ],
        "stages": [
            {"key": "S1", "title": "Cut", "hold_point": False},
            {"key": "S2", "title": "Set", "hold_point": False},
        ],
        "dimensions": {},
        "criteria": list(criteria) or [checked()],
    }
    rule: Document = {
        "critical": True,
        "outcome_minima": False,
        "cut": "0.5",
        "band": None,
        "guard_band": "undecided",
        "assessors": {"required": 1, "combine": "mean"},
    }
    for name, value in changes.items():
        if name in ("required", "combine"):
            rule["assessors"] = {**rule["assessors"], name: value}
        else:
            (top if name in top else rule)[name] = value
    return {**top, "pass_rule": rule}


def observation(
    key: str, value: Document, assessor: str = "ann", kind: str = "criterion", **changes: Any
) -> Document:
    """An observation with an id of its own."""
    return {
        "id": f"{assessor}/{kind}/{key}",
        "subject": {"kind": kind, "key": key},
        "assessor": assessor,
        "value": value,
        "note": "",
        "replaces": None,
        **changes,
    }


def accepted(stage: str, word: bool = True, assessor: str = "ann") -> Document:
    """A word on a hold point."""
    return observation(stage, {"accepted": word}, assessor, "hold_point")


def observations(*rows: Document) -> Document:
    """An observations document."""
    return {"schema": "bankermark/observations/1", "attempt": "trial", "observations": list(rows)}


def readings(*values: str, unit: str = "mm") -> Document:
    """The value of a measured criterion."""
    return {"readings": [{"typed": each, "value": each, "unit": unit} for each in values]}


def minutes(count: int) -> Document:
    """The value of a timed criterion: so many minutes from nine o'clock."""
    hours, rest = divmod(count, 60)
    return {
        "start": "2026-05-04T09:00:00-04:00",
        "end": f"2026-05-04T{9 + hours:02d}:{rest:02d}:00-04:00",
    }


def changed(document: Mapping[str, Any], path: str, value: Any) -> Document:
    """A copy of a document with the field at ``criteria[0].limits.upper`` set to a value.

    With the value ``...`` the field is taken away.
    """
    copied: Any = copy.deepcopy(dict(document))
    steps = [int(each) if each.isdigit() else each for each in re.findall(r"[^.\[\]]+", path)]
    place = copied
    for step in steps[:-1]:
        place = place[step]
    if value is ...:
        del place[steps[-1]]
    else:
        place[steps[-1]] = value
    assert isinstance(copied, dict)
    return copied
