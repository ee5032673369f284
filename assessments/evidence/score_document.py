"""Scores as plain data, "bankermark/scores/1": written, and read back strictly.

Numbers are text, so that what is read is what was written, to the last place.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction
from typing import Any, TypeVar

import numpy as np

from assessments.evidence.errors import EvidenceError
from assessments.evidence.scores import Array, Item, Scores

SCHEMA = "bankermark/scores/1"
Read = TypeVar("Read")
RESULTS = ("met", "not_yet_met", "undecided", "incomplete", "")
_NUMBER = re.compile(r"[0-9]{1,12}(\.[0-9]{1,400}|/[1-9][0-9]{0,11})?")
_FIELDS = {
    "schema",
    "trainees",
    "items",
    "assessors",
    "values",
    "applies",
    "results",
    "alone",
    "minutes",
    "cut",
}
_ITEM = {"key", "title", "kind", "critical", "weight", "met_share", "levels", "outcomes"}


def scores_document(scores: Scores) -> dict[str, Any]:
    """The scores as strings, booleans, null, lists and objects; null is a score that is not there.

    >>> one = np.array([[1.0]])
    >>> two_thirds = Scores(
    ...     ("T1",), (Item("C1", "Face flush", "rated", True, 1.0, 0.5),), ("A", "B"),
    ...     np.array([[[2 / 3, np.nan]]]), one > 0, ("met",), one < 0, one, None)
    >>> scores_document(two_thirds)["values"]
    [[['0.6666666666666666', None]]]
    """
    return {
        "schema": SCHEMA,
        "trainees": list(scores.trainees),
        "items": [
            {
                "key": item.key,
                "title": item.title,
                "kind": item.kind,
                "critical": item.critical,
                "weight": _text(item.weight),
                "met_share": _text(item.met_share),
                "levels": [_text(level) for level in item.levels],
                "outcomes": list(item.outcomes),
            }
            for item in scores.items
        ],
        "assessors": list(scores.assessors),
        "values": _texts(scores.values.tolist()),
        "applies": scores.applies.tolist(),
        "results": list(scores.results),
        "alone": scores.alone.tolist(),
        "minutes": _texts(scores.minutes.tolist()),
        "cut": None if scores.cut is None else _text(scores.cut),
    }


def read_scores(document: Any) -> Scores:
    """The scores from such a document; numbers may also be fractions such as "2/3".

    Every field is needed and no other is allowed. EvidenceError with the path of the first field
    that cannot be used, and what to write instead.

    >>> read_scores({"schema": "bankermark/scores/1"})
    Traceback (most recent call last):
    assessments.evidence.errors.EvidenceError: alone: This field is missing.
    """
    given = _object(document, "", _FIELDS)
    if given["schema"] != SCHEMA:
        raise EvidenceError("schema", f'Write "{SCHEMA}".')
    trainees = _list(given["trainees"], "trainees", _string)
    items = _list(given["items"], "items", _item)
    assessors = _list(given["assessors"], "assessors", _string)
    people, criteria, scorers = len(trainees), len(items), len(assessors)
    _distinct(trainees, "trainees")
    _distinct([item.key for item in items], "items")
    _distinct(assessors, "assessors")
    return Scores(
        trainees=tuple(trainees),
        items=tuple(items),
        assessors=tuple(assessors),
        values=_array(given["values"], "values", (people, criteria, scorers), _share_or_gap),
        applies=_array(given["applies"], "applies", (people, criteria), _flag).astype(bool),
        results=tuple(_list(given["results"], "results", _result)),
        alone=_array(given["alone"], "alone", (people, criteria), _flag).astype(bool),
        minutes=_array(given["minutes"], "minutes", (people, criteria), _number_or_gap),
        cut=None if given["cut"] is None else _share(given["cut"], "cut"),
    )


def _text(value: float) -> str:
    """The shortest text that is read as the same number; nought has no sign."""
    return format(Decimal(repr(float(value) + 0.0)), "f").removesuffix(".0")


def _texts(values: Any) -> Any:
    if isinstance(values, list):
        return [_texts(value) for value in values]
    return None if np.isnan(values) else _text(values)


def _item(value: Any, path: str) -> Item:
    given = _object(value, path, _ITEM)
    weight = _number(given["weight"], f"{path}.weight")
    if not weight > 0:
        raise EvidenceError(f"{path}.weight", "A weight is above 0.")
    levels = _list(given["levels"], f"{path}.levels", _share)
    if len(levels) < 2 or sorted(set(levels)) != levels:
        raise EvidenceError(f"{path}.levels", "Two shares or more are needed, rising.")
    return Item(
        key=_string(given["key"], f"{path}.key"),
        title=_string(given["title"], f"{path}.title"),
        kind=_string(given["kind"], f"{path}.kind"),
        critical=_flag(given["critical"], f"{path}.critical"),
        weight=weight,
        met_share=_share(given["met_share"], f"{path}.met_share"),
        levels=tuple(levels),
        outcomes=tuple(_list(given["outcomes"], f"{path}.outcomes", _string)),
    )


def _object(value: Any, path: str, fields: set[str]) -> dict[str, Any]:
    if not isinstance(value, dict):
        raise EvidenceError(path or "(whole)", "An object with named fields is needed.")
    before = f"{path}." if path else ""
    for name in sorted(fields - value.keys()):
        raise EvidenceError(f"{before}{name}", "This field is missing.")
    for name in value.keys() - fields:
        raise EvidenceError(f"{before}{name}", "There is no such field: take it out.")
    return value


def _list(value: Any, path: str, read: Callable[[Any, str], Read]) -> list[Read]:
    if not isinstance(value, list):
        raise EvidenceError(path, "A list is needed.")
    return [read(one, f"{path}[{number}]") for number, one in enumerate(value)]


def _array(
    value: Any, path: str, shape: tuple[int, ...], read: Callable[[Any, str], float]
) -> Array:
    """Nested lists of that shape, each number read; flags become 0 and 1."""

    def walk(part: Any, path: str, left: tuple[int, ...]) -> Any:
        if not left:
            return read(part, path)
        if not isinstance(part, list) or len(part) != left[0]:
            raise EvidenceError(path, f"A list of {left[0]} is needed.")
        return [walk(one, f"{path}[{number}]", left[1:]) for number, one in enumerate(part)]

    return np.array(walk(value, path, shape), dtype=float).reshape(shape)


def _string(value: Any, path: str) -> str:
    if not isinstance(value, str) or not value.strip():
        raise EvidenceError(path, "A text is needed.")
    return value


def _result(value: Any, path: str) -> str:
    if value not in RESULTS:
        raise EvidenceError(path, f'Write one of {", ".join(RESULTS[:-1])}, or "" while open.')
    return str(value)


def _flag(value: Any, path: str) -> bool:
    if not isinstance(value, bool):
        raise EvidenceError(path, "Write true or false.")
    return value


def _number(value: Any, path: str) -> float:
    if not isinstance(value, str) or not _NUMBER.fullmatch(value):
        raise EvidenceError(path, 'Write a number as text, such as "0.7" or "2/3".')
    return float(Fraction(value))


def _number_or_gap(value: Any, path: str) -> float:
    return float("nan") if value is None else _number(value, path)


def _share(value: Any, path: str) -> float:
    share = _number(value, path)
    if share > 1:
        raise EvidenceError(path, "A share from 0 to 1 is needed.")
    return share


def _share_or_gap(value: Any, path: str) -> float:
    return float("nan") if value is None else _share(value, path)


def _distinct(names: list[str], path: str) -> None:
    seen: set[str] = set()
    for number, name in enumerate(names):
        if name in seen:
            raise EvidenceError(f"{path}[{number}]", f'"{name}" stands here twice.')
        seen.add(name)
