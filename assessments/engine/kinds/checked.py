"""Checked criteria: yes or no."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from assessments.engine.fields import Document, fields, flag
from assessments.engine.kinds.result import CriterionResult
from assessments.engine.numbers import Exact

FIELDS = ("expected",)


@dataclass(frozen=True, slots=True)
class Checked:
    """Met when the answer is the one expected."""

    expected: bool
    kind: str = "checked"
    threshold: Exact = 1

    def judge(self, value: dict[str, Any]) -> CriterionResult:
        """The result of ``{"answer": true or false}``."""
        answer = flag(fields(value, ("answer",)), "answer")
        inputs = {"answer": answer, "expected": self.expected}
        said = "Yes" if answer else "No"
        if answer == self.expected:
            return CriterionResult("met", 1, f"{said}, as needed.", inputs)
        needed = "yes" if self.expected else "no"
        return CriterionResult("not_met", 0, f"{said}; needed is {needed}.", inputs)


def load(document: Document) -> Checked:
    """Read ``expected``."""
    return Checked(flag(document, "expected"))
