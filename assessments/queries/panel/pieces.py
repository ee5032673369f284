"""The evidence on a finished piece, without names, scores or the decision."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import Prefetch
from django.utils.translation import gettext as _

from assessments.engine.numbers import exact
from assessments.engine.quantities import format_quantity
from assessments.models import Attempt, Decision
from assessments.sentences import time_text

MINUTE = 60_000_000  # microseconds


@dataclass(frozen=True)
class Look:
    """What one assessor, told by a number, saw on a criterion, and the note on it."""

    assessor: int
    words: str
    note: str


@dataclass(frozen=True)
class Evidence:
    """A criterion of the standard that the piece was made under, and what was seen of it."""

    criterion: Mapping[str, Any]
    looks: list[Look]


def evidence_on(attempt_id: str) -> list[Evidence]:
    """Return what was seen of a piece, in the order of its criteria (two queries).

    It is what stands in the decision's observations: readings, levels, answers and notes. An
    assessor's number says only that two looks are one person's.
    """
    decisions = Decision.objects.filter(replaced_by__isnull=True).defer("document")
    attempt = (
        Attempt.objects.select_related("standard")
        .prefetch_related(Prefetch("decisions", decisions))
        .get(pk=attempt_id)
    )
    rows = attempt.decisions.all()[0].observations["observations"]
    replaced = {row["replaces"] for row in rows}
    current = [row for row in rows if row["id"] not in replaced]
    numbers: dict[str, int] = {}
    for row in current:
        numbers.setdefault(row["assessor"], len(numbers) + 1)
    found: dict[str, list[Look]] = {}
    criteria = attempt.standard.document["criteria"]
    by_key = {criterion["key"]: criterion for criterion in criteria}
    for row in current:
        if row["subject"]["kind"] == "criterion" and not row["value"].get("cleared"):
            key = row["subject"]["key"]
            words = _words(by_key[key], row["value"])
            found.setdefault(key, []).append(Look(numbers[row["assessor"]], words, row["note"]))
    return [Evidence(criterion, found.get(criterion["key"], [])) for criterion in criteria]


def _words(criterion: Mapping[str, Any], value: Mapping[str, Any]) -> str:
    """Return an observation in words, as it was seen."""
    if value.get("not_applicable"):
        return _("Does not apply: {reason}").format(reason=value["reason"])
    return _SEEN[criterion["kind"]](criterion, value)


def _rated(criterion: Mapping[str, Any], value: Mapping[str, Any]) -> str:
    return str(criterion["levels"][value["level"]]["description"])


def _measured(criterion: Mapping[str, Any], value: Mapping[str, Any]) -> str:
    return "; ".join(
        format_quantity(exact(reading["value"]), reading["unit"]) for reading in value["readings"]
    )


def _checked(criterion: Mapping[str, Any], value: Mapping[str, Any]) -> str:
    return _("Yes") if value["answer"] else _("No")


def _counted(criterion: Mapping[str, Any], value: Mapping[str, Any]) -> str:
    return f"{value['count']} {criterion['what']}"


def _timed(criterion: Mapping[str, Any], value: Mapping[str, Any]) -> str:
    if "end" not in value:
        return _("Begun; no end was noted")
    took = datetime.fromisoformat(value["end"]) - datetime.fromisoformat(value["start"])
    return time_text(int(took.total_seconds()) // 60 * MINUTE, "min")


_SEEN = {
    "rated": _rated,
    "measured": _measured,
    "checked": _checked,
    "counted": _counted,
    "timed": _timed,
}
