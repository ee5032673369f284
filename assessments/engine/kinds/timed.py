"""Timed criteria: how long from one instant to another."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from assessments.engine.errors import EngineError
from assessments.engine.fields import Document, at, fields
from assessments.engine.kinds.limits import Limits, load_limits
from assessments.engine.kinds.result import CriterionResult
from assessments.engine.numbers import Exact, exact, number_text
from assessments.engine.quantities import base_text, difference_text
from assessments.engine.units import unit_named

FIELDS = ("limits",)
OPTIONAL = ("unit",)
_MICROSECOND = timedelta(microseconds=1)


@dataclass(frozen=True, slots=True)
class Timed:
    """``limits`` in microseconds; ``unit`` (s, min, h, d) is what people are shown."""

    limits: Limits
    unit: str
    lower_text: str | None
    upper_text: str | None
    kind: str = "timed"
    threshold: Exact = 1

    def judge(self, value: dict[str, Any]) -> CriterionResult:
        """The result of ``{"start", "end"}``, ISO 8601 with an offset; no end yet is missing."""
        fields(value, ("start",), ("end",))
        _instant(value, "start")
        inputs = {
            "start": value["start"],
            "end": value.get("end"),
            "unit": self.unit,
            "lower": self.lower_text,
            "upper": self.upper_text,
        }
        if value.get("end") is None:
            return CriterionResult("missing", None, "Started, but the end is not noted.", inputs)
        took = self.took(value)
        sentence = f"Took {base_text(took, self.unit)}; allowed: {self.limits.text(self._show)}."
        if self.limits.holds(took):
            return CriterionResult("met", 1, sentence, inputs)
        over = self.limits.upper is not None and took > self.limits.upper
        distance = difference_text(self.limits.distance(took), self.unit)
        sentence = f"{sentence} That is {distance} too {'long' if over else 'short'}."
        return CriterionResult("not_met", 0, sentence, inputs)

    def took(self, value: dict[str, Any]) -> int:
        """The time from start to end in microseconds; EngineError where it is below 0."""
        took = (_instant(value, "end") - _instant(value, "start")) // _MICROSECOND
        if took < 0:
            raise EngineError("end", "The end lies before the start: check both times.")
        return took

    def _show(self, base: Exact) -> str:
        return base_text(base, self.unit)


def load(document: Document) -> Timed:
    """Read ``limits`` (numbers as text) in ``unit`` (minutes when it is left out)."""
    with at("unit"):
        unit = unit_named(document.get("unit", "min"), "time")

    def read(value: object) -> Exact:
        number = exact(value) if isinstance(value, str) else None
        if number is None or number < 0:
            raise EngineError("", f'Write a number of {unit.name} as text, such as "90".')
        return unit.to_base(number)

    limits = load_limits(document, read)
    ends = [None if end is None else number_text(unit.from_base(end)) for end in
            (limits.lower, limits.upper)]  # fmt: skip
    return Timed(limits, unit.name, ends[0], ends[1])


def _instant(value: dict[str, Any], name: str) -> datetime:
    try:
        instant = datetime.fromisoformat(value[name])
    except (TypeError, ValueError):
        instant = None
    if instant is None or instant.tzinfo is None:
        raise EngineError(name, "Write date, time and offset, such as 2026-05-04T09:30:00-04:00.")
    return instant
