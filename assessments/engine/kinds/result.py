"""What one assessor's observation of one criterion comes to."""

from __future__ import annotations

from typing import Any, Literal, NamedTuple, Protocol

from assessments.engine.numbers import Exact

Result = Literal[
    "met", "not_met", "within_guard_band", "not_applicable", "missing", "blocked", "disagreed"
]


class CriterionResult(NamedTuple):
    """The result, the score (0 to 1, exact; None where there is none) and a plain sentence.

    ``inputs`` are the plain data that the result follows from, as they stand in the trace.
    """

    result: Result
    score: Exact | None
    sentence: str
    inputs: dict[str, Any]


class Rule(Protocol):
    """What a kind of criterion must be able to do."""

    @property
    def kind(self) -> str:
        """The kind's name in the documents."""

    @property
    def threshold(self) -> Exact:
        """The least score that counts as met."""

    def judge(self, value: dict[str, Any]) -> CriterionResult:
        """The result of a value; EngineError at the field that cannot be read."""
