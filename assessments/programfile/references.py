"""What one part of a program file says about another: keys that repeat, keys that are not there."""

from collections.abc import Iterator
from typing import Any

from assessments.programfile.places import Marks, Path
from assessments.programfile.shapes import suggest

LISTS: tuple[tuple[Path, str], ...] = (
    (("prerequisites",), "key"),
    (("modules",), "key"),
    (("outcomes",), "key"),
    (("task", "stages"), "key"),
    (("task", "criteria"), "key"),
    (("task", "conditions"), "name"),
)


def check_references(document: dict[str, Any], marks: Marks) -> None:
    """Add a fault for each key that is used twice or that names nothing."""
    for path, name in LISTS:
        _check_unique(document, path, name, marks)
    outcomes = _keys(document, ("outcomes",))
    stages = _keys(document, ("task", "stages"))
    for path, module in _records(document, ("modules",)):
        taught = module.get("teaches") or []
        for number, key in enumerate(taught):
            _check_known(key, outcomes, "outcome", (*path, "teaches", number), marks)
            if key is not None and key in taught[:number]:
                marks.fault_at((*path, "teaches", number), f"'{key}' stands here twice; keep one")
    for path, criterion in _records(document, ("task", "criteria")):
        _check_known(criterion.get("stage"), stages, "stage", (*path, "stage"), marks)
        for key in criterion.get("serves") or {}:
            _check_known(key, outcomes, "outcome", (*path, "serves", key), marks)


def put_in_order(document: dict[str, Any]) -> None:
    """Sort what modules teach and criteria serve by the order of the outcomes.

    The order in which a writer names them says nothing; so two files that differ in it are one.
    """
    keys = _keys(document, ("outcomes",))
    for module in document["modules"]:
        module["teaches"].sort(key=keys.index)
    for criterion in document["task"]["criteria"]:
        served = criterion["serves"]
        criterion["serves"] = {key: served[key] for key in sorted(served, key=keys.index)}


def _records(document: dict[str, Any], path: Path) -> Iterator[tuple[Path, dict[str, Any]]]:
    """Yield (path, record) for each item that could be read in the list at ``path``."""
    part: Any = document
    for step in path:
        part = (part or {}).get(step)
    for number, record in enumerate(part or []):
        if isinstance(record, dict):
            yield (*path, number), record


def _keys(document: dict[str, Any], path: Path) -> list[str]:
    """Return the keys of a list; none where one of them is at fault itself.

    Whoever mends that key mends what refers to it: a second fault would only be noise.
    """
    keys = [record["key"] for _, record in _records(document, path)]
    return [] if None in keys or len(set(keys)) < len(keys) else keys


def _check_unique(document: dict[str, Any], path: Path, name: str, marks: Marks) -> None:
    lines: dict[str, int] = {}
    for place, record in _records(document, path):
        value = record.get(name)
        if value is None:
            continue
        if value in lines:
            message = (
                f"'{value}' is used twice (first on line {lines[value]}); name one of them anew"
            )
            marks.fault_at((*place, name), message)
        else:
            lines[value] = marks.nearest((*place, name)).line


def _check_known(key: str | None, known: list[str], what: str, path: Path, marks: Marks) -> None:
    if key is not None and known and key not in known:
        message = f"no {what} of this file has the key '{key}'; {suggest(key, known)}"
        marks.fault_at(path, message)
