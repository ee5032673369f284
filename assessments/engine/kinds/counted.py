"""Counted criteria: how many of something."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from assessments.engine.errors import EngineError
from assessments.engine.fields import Document, fields, text, whole
from assessments.engine.kinds.limits import Limits, load_limits
from assessments.engine.kinds.result import CriterionResult
from assessments.engine.numbers import Exact, exact

FIELDS = ("what", "limits")
MOST = 10**9


@dataclass(frozen=True, slots=True)
class Counted:
    """``what`` is counted; met within the limits."""

    what: str
    limits: Limits
    kind: str = "counted"
    threshold: Exact = 1

    def judge(self, value: dict[str, Any]) -> CriterionResult:
        """The result of ``{"count": whole number}``."""
        count = whole(fields(value, ("count",)), "count", 0, MOST)
        inputs = {"count": count, "lower": self.limits.lower, "upper": self.limits.upper}
        sentence = f"Counted {count} ({self.what}); allowed: {self.limits.text(str)}."
        if self.limits.holds(count):
            return CriterionResult("met", 1, sentence, inputs)
        distance = self.limits.distance(count)
        over = self.limits.upper is not None and count > self.limits.upper
        sentence = f"{sentence} That is {distance} too {'many' if over else 'few'}."
        return CriterionResult("not_met", 0, sentence, inputs)


def load(document: Document) -> Counted:
    """Read ``what`` and ``limits`` (whole numbers as text)."""
    return Counted(text(document, "what"), load_limits(document, _count))


def _count(value: object) -> Exact:
    count = exact(value) if isinstance(value, str) else None
    if not isinstance(count, int) or not 0 <= count <= MOST:
        raise EngineError("", 'Write a whole number of 0 or more as text, such as "3".')
    return count
