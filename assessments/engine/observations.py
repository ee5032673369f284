"""Read the observations of one attempt: who found what, with corrections followed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from assessments.engine.errors import EngineError
from assessments.engine.fields import Document, at, fields, flag, items, text
from assessments.engine.judge import CLEARED, cleared, judge_value
from assessments.engine.kinds import CriterionResult
from assessments.engine.standard import Standard
from assessments.engine.standard.load import known

SCHEMA = "bankermark/observations/1"
_REQUIRED = ("id", "subject", "assessor", "value")
_OPTIONAL = ("note", "replaces")
_SUBJECT = ("kind", "key")
# Every observation has these as a rule: comparing the keys is much faster than looking for each.
_ALL_KEYS = dict.fromkeys((*_REQUIRED, *_OPTIONAL)).keys()
_SUBJECT_KEYS = dict.fromkeys(_SUBJECT).keys()


@dataclass(frozen=True, slots=True)
class Sheet:
    """The current observations.

    ``found`` maps a criterion's key to (assessor, result) pairs, ``accepted`` a stage's key to
    (assessor, accepted) pairs; both sorted by assessor, without what was taken back.
    """

    attempt: str
    found: dict[str, list[tuple[str, CriterionResult]]]
    accepted: dict[str, list[tuple[str, bool]]]


def load_observations(document: Mapping[str, Any], standard: Standard) -> Sheet:
    """Read an observations document (FORMATS.md); EngineError at the field at fault."""
    fields(document, ("schema", "attempt", "observations"))
    known(document, SCHEMA)
    assert isinstance(document, dict)
    rows = items(document, "observations", least=0)
    replaced = _corrections(rows)
    sheet = Sheet(text(document, "attempt"), {}, {})
    hold_points = {stage.key for stage in standard.stages if stage.hold_point}
    current: set[tuple[str, str, str]] = set()
    for i, row in enumerate(rows):
        subject = row["subject"]
        kind, key, assessor = subject["kind"], subject["key"], row["assessor"]
        try:
            if kind == "criterion":
                if key not in standard.positions:
                    raise EngineError("subject.key", f"The standard has no criterion “{key}”.")
            elif key not in hold_points:
                raise EngineError("subject.key", f"The standard has no hold point “{key}”.")
            if row["id"] in replaced:
                continue
            if (kind, key, assessor) in current:
                raise EngineError(
                    "subject",
                    f"Assessor “{assessor}” has two current observations of “{key}”: let one name "
                    "the other in “replaces”.",
                )
            current.add((kind, key, assessor))
            if kind == "criterion":
                _criterion(sheet, standard, key, assessor, row["value"])
            else:
                _hold_point(sheet, key, assessor, row["value"])
        except EngineError as error:
            raise error.under(f"observations[{i}]") from None
    for results in sheet.found.values():
        results.sort(key=_assessor)
    for words in sheet.accepted.values():
        words.sort(key=_assessor)
    return sheet


def _assessor(pair: tuple[str, object]) -> str:
    return pair[0]


def _criterion(sheet: Sheet, standard: Standard, key: str, assessor: str, value: object) -> None:
    try:
        result = judge_value(standard.criteria[standard.positions[key]], value)
    except EngineError as error:
        raise error.under("value") from None
    if not (isinstance(value, dict) and CLEARED in value):
        sheet.found.setdefault(key, []).append((assessor, result))


def _hold_point(sheet: Sheet, key: str, assessor: str, value: object) -> None:
    with at("value"):
        if isinstance(value, dict) and CLEARED in value:
            cleared(value)
            return
        accepted = flag(fields(value, ("accepted",)), "accepted")
    sheet.accepted.setdefault(key, []).append((assessor, accepted))


def _corrections(rows: list[Any]) -> set[str]:
    """Check the frame of every observation; the ids of those that a later one replaces."""
    by_id: dict[str, Document] = {}
    for i, row in enumerate(rows):
        try:
            _frame(row)
            if row["id"] in by_id:
                raise EngineError("id", f"The id “{row['id']}” stands twice: send each once.")
        except EngineError as error:
            raise error.under(f"observations[{i}]") from None
        by_id[row["id"]] = row
    replaced: set[str] = set()
    sound: set[str] = set()
    for i, row in enumerate(rows):
        if row.get("replaces") is not None:
            with at(f"observations[{i}].replaces"):
                _correction(row, by_id, sound)
            replaced.add(row["replaces"])
    return replaced


def _frame(row: object) -> None:
    if not (isinstance(row, dict) and row.keys() == _ALL_KEYS):
        row = fields(row, _REQUIRED, _OPTIONAL)
    if not isinstance(row["id"], str) or not row["id"]:
        raise EngineError("id", "Write text here.")
    if not isinstance(row["assessor"], str) or not row["assessor"]:
        raise EngineError("assessor", "Write text here.")
    if not isinstance(row.get("note", ""), str):
        raise EngineError("note", "Write text here.")
    if row.get("replaces") is not None and not isinstance(row["replaces"], str):
        raise EngineError("replaces", "Write the id of an observation, or null.")
    subject = row["subject"]
    try:
        if not (isinstance(subject, dict) and subject.keys() == _SUBJECT_KEYS):
            fields(subject, _SUBJECT)
        if subject["kind"] not in ("criterion", "hold_point"):
            raise EngineError("kind", "Write “criterion” or “hold_point”.")
        if not isinstance(subject["key"], str):
            raise EngineError("key", "Write text here.")
    except EngineError as error:
        raise error.under("subject") from None


def _correction(row: Document, by_id: dict[str, Document], sound: set[str]) -> None:
    """Check that a correction names another observation of the same thing, without a circle.

    ``sound`` collects the ids that are known to lead to a first observation.
    """
    earlier = by_id.get(row["replaces"])
    if earlier is None:
        raise EngineError("", f"There is no observation “{row['replaces']}” here: send it too.")
    if (earlier["subject"], earlier["assessor"]) != (row["subject"], row["assessor"]):
        raise EngineError("", "A correction is of the same criterion, by the same assessor.")
    seen = {row["id"]}
    step: Document | None = earlier
    while step is not None and step["id"] not in sound:
        if step["id"] in seen:
            raise EngineError("", "These corrections replace each other in a circle.")
        seen.add(step["id"])
        step = by_id.get(step.get("replaces") or "")
    sound |= seen
