"""What is looked at under a standard: its criteria and hold points, in the order of the work."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from assessments.engine.errors import EngineError
from assessments.engine.fields import fields, flag
from assessments.engine.judge import CLEARED, cleared, judge_value
from assessments.engine.kinds import CriterionResult
from assessments.engine.standard import Standard
from training.errors import Refused
from training.said import said

CRITERION = "criterion"
HOLD_POINT = "hold_point"


@dataclass(frozen=True)
class Subject:
    """A criterion (``document`` as in the standard) or the hold point of a stage (None)."""

    kind: str
    key: str
    title: str
    stage: int
    critical: bool
    document: Mapping[str, Any] | None

    @property
    def form_kind(self) -> str:
        """The kind of the criterion, or ``hold_point``."""
        return str(self.document["kind"]) if self.document else HOLD_POINT


def subjects_of(document: Mapping[str, Any]) -> list[Subject]:
    """Return the subjects of a standard's document: stage by stage, its hold point last."""
    found: list[Subject] = []
    for index, stage in enumerate(document["stages"]):
        found += [
            Subject(CRITERION, row["key"], row["title"], index, row["critical"], row)
            for row in document["criteria"]
            if row["stage"] == stage["key"]
        ]
        if stage["hold_point"]:
            title = _("Hold point: {title}").format(title=stage["title"])
            found.append(Subject(HOLD_POINT, stage["key"], title, index, True, None))
    return found


def find_subject(subjects: Sequence[Subject], kind: str, key: str) -> Subject | None:
    """Return the subject of this kind and key, or None."""
    return next((each for each in subjects if (each.kind, each.key) == (kind, key)), None)


def judge_subject(
    standard: Standard, kind: str, key: str, value: dict[str, Any]
) -> CriterionResult:
    """Return what a value comes to by itself; a hold point is met when it is accepted.

    Raises EngineError for a subject that the standard does not have, or at the value's field.
    """
    if kind == CRITERION:
        if key not in standard.positions:
            raise EngineError("", f"The standard has no criterion {key}.")
        return judge_value(standard.criterion(key), value)
    if not any(stage.key == key and stage.hold_point for stage in standard.stages):
        raise EngineError("", f"The standard has no hold point {key}.")
    if CLEARED in value:
        return cleared(value)
    accepted = flag(fields(value, ("accepted",)), "accepted")
    if accepted:
        return CriterionResult("met", None, "Accepted: the next step may begin.", {})
    return CriterionResult("not_met", None, "Not accepted: mend it, then look again.", {})


def check_value(standard: Standard, kind: str, key: str, value: dict[str, Any]) -> None:
    """Raise Refused where ``value`` is none that the subject can have."""
    try:
        judge_subject(standard, kind, key, value)
    except EngineError as error:
        raise Refused(said(str(error)), field="value") from error
