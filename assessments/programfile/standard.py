"""From a program document to the part that is sealed and that the engine decides by."""

import re
from copy import deepcopy
from typing import Any

SCHEMA = "bankermark/standard/1"
TASK = ("title", "brief", "cautions", "conditions", "sheet")
# Rules that a program may leave out; no decision rests on them.
RULES = ("qualification", "retake", "review")
COMMON = ("key", "title", "stage", "kind", "critical", "not_applicable", "weight")


def standard_from_program(document: dict[str, Any]) -> dict[str, Any]:
    """Return the standard document of a program document (the form of a program file).

    ``about`` holds what the trainee and the record are told of the task, and the rules of range and
    continuity, of retake and of review where the program has some; no decision rests on it.
    The result holds strings, integers, booleans, null, lists and objects only; it shares
    nothing with ``document``.
    """
    task = document["task"]
    standard = {
        "schema": SCHEMA,
        "program": {name: document[name] for name in ("code", "version", "title")},
        "outcomes": document["outcomes"],
        "stages": task["stages"],
        "dimensions": task["dimensions"],
        "criteria": [_criterion(criterion) for criterion in task["criteria"]],
        "pass_rule": document["pass_rule"],
        "about": {"task": {name: task[name] for name in TASK}},
    }
    for name in RULES:
        if document.get(name) is not None:
            standard["about"][name] = document[name]
    return deepcopy(standard)


def _criterion(criterion: dict[str, Any]) -> dict[str, Any]:
    """Return a criterion of the standard: ``serves`` is called ``outcomes`` there."""
    own = {name: value for name, value in criterion.items() if name not in (*COMMON, "serves")}
    return {
        **{name: criterion[name] for name in COMMON},
        "outcomes": criterion["serves"],
        **own,
        # A program file holds every time in minutes.
        **({"unit": "min"} if criterion["kind"] == "timed" else {}),
    }


def program_path(path: str) -> tuple[str | int, ...]:
    """Return where a path of the standard (``criteria[3].limits.upper``) stands in a program."""
    steps: list[str | int] = [
        int(step) if step.isdigit() else step for step in re.findall(r"[^.\[\]]+", path)
    ]
    if steps[:1] == ["about"] and steps[1:2] and steps[1] in RULES:
        steps = steps[1:]
    if steps and steps[0] in ("stages", "dimensions", "criteria", "sheet"):
        steps.insert(0, "task")
    if steps[:2] == ["task", "criteria"] and len(steps) > 3 and steps[3] == "outcomes":
        steps[3] = "serves"
    return tuple(steps)
