"""What the competency record adds: each criterion, what was required and what was seen."""

from collections.abc import Mapping
from typing import Any

from assessments.engine.observations import Sheet, load_observations
from assessments.engine.standard import Criterion, Stage, load_standard
from certificates.rendering.drawing import number_line
from certificates.rendering.errors import RenderingError
from certificates.rendering.photographs import photographs_of
from certificates.rendering.wording import (
    conditions_of_measurement,
    observation,
    requirement,
    say_result,
    tied,
)

Document = Mapping[str, Any]


def competency_pages(record: Document, photographs: Mapping[str, bytes]) -> dict[str, Any]:
    """The texts, drawings and photographs of the criteria, all of them ready to print.

    ``photographs`` are JPEG bytes by their SHA-256; see ``render``. Raises EngineError when
    the standard or the observations cannot be read, RenderingError when the decision is not one
    under this standard or a photograph cannot be shown.
    """
    standard = load_standard(record["standard"])
    decision = record["decision"]
    if {record["standard_digest"], decision["standard_digest"]} != {standard.digest}:
        raise RenderingError(
            "The digest of the standard is not that of the standard in the record: build it again."
        )
    sheet = load_observations(record["observations"], standard)
    names = {assessor["id"]: assessor["name"] for assessor in record["assessors"]}
    values = _current_values(record["observations"])
    decided = {row["key"]: row for row in decision["criteria"]}
    blocks = [
        _criterion(criterion, decided[criterion.key], sheet, values, names)
        for criterion in standard.criteria
    ]
    pictures = photographs_of(record, standard, photographs)
    methods: list[str] = []
    for block in blocks:
        block["photographs"] = pictures.get(("criterion", block["key"]), [])
        if block["method"] and block["method"] not in methods:
            methods.append(block["method"])
        block["note"] = methods.index(block["method"]) + 1 if block["method"] else None
    return {
        "methods": methods,
        "photographs": bool(pictures),
        "stages": [
            {
                "title": stage.title,
                "hold_point": _hold_point(stage, sheet, names),
                "photographs": pictures.get(("hold_point", stage.key), []),
                "criteria": [block for block in blocks if block["stage"] == index],
            }
            for index, stage in enumerate(standard.stages)
        ],
        "reasons": [tied(sentence) for sentence in decision["reasons"]],
        "steps": _steps(decision, blocks),
        "engine": decision["engine"],
    }


def _current_values(observations: Document) -> dict[tuple[str, str], Document]:
    """Criterion and assessor of each current observation, with the row as it was received."""
    rows = observations["observations"]
    replaced = {row.get("replaces") for row in rows}
    return {
        (row["subject"]["key"], row["assessor"]): row
        for row in rows
        if row["subject"]["kind"] == "criterion" and row["id"] not in replaced
    }


def _criterion(
    criterion: Criterion,
    decided: Document,
    sheet: Sheet,
    values: Mapping[tuple[str, str], Document],
    names: Mapping[str, str],
) -> dict[str, Any]:
    seen = []
    for assessor, result in sheet.found.get(criterion.key, []):
        row = values[criterion.key, assessor]
        name = names.get(assessor, assessor)
        seen.append(
            {
                "assessor": name,
                "text": observation(row["value"], result),
                "note": row.get("note", ""),
                "drawing": number_line(criterion, row["value"], result, assessor=name),
            }
        )
    return {
        "key": criterion.key,
        "stage": criterion.stage,
        "title": criterion.title,
        "critical": criterion.critical,
        "result": decided["result"],
        "word": say_result(decided["result"]),
        "sentence": tied(decided["sentence"]),
        "told": decided["sentence"],
        "requirement": requirement(criterion),
        "method": conditions_of_measurement(criterion),
        "seen": seen,
    }


def _hold_point(stage: Stage, sheet: Sheet, names: Mapping[str, str]) -> str:
    """Who accepted the stage before the next one hid it; empty where nobody had to."""
    if not stage.hold_point:
        return ""
    accepted = [names.get(who, who) for who, yes in sheet.accepted.get(stage.key, []) if yes]
    return f"Accepted by {', '.join(accepted)}." if accepted else "Not accepted."


def _steps(decision: Document, blocks: list[dict[str, Any]]) -> list[str]:
    """Sentences of the decision's trace that do not stand beside a criterion already."""
    told = tuple({block["told"] for block in blocks} | set(decision["reasons"]))
    return [
        tied(step["sentence"]) for step in decision["trace"] if not step["sentence"].endswith(told)
    ]
