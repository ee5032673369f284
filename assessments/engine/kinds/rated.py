"""Rated criteria: ordered levels, each described; met from one of them on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from assessments.engine.errors import EngineError
from assessments.engine.fields import Document, at, fields, items, number, text, whole
from assessments.engine.kinds.result import CriterionResult
from assessments.engine.numbers import Exact, number_text, tidy, to_fraction

FIELDS = ("levels", "met_from")


@dataclass(frozen=True, slots=True)
class Rated:
    """``scores`` are the levels' points over the most points, from the lowest level up."""

    points: tuple[Exact, ...]
    descriptions: tuple[str, ...]
    scores: tuple[Exact, ...]
    met_from: int
    point_texts: list[str]
    kind: str = "rated"

    @property
    def threshold(self) -> Exact:
        return self.scores[self.met_from]

    def judge(self, value: dict[str, Any]) -> CriterionResult:
        """The result of ``{"level": index}``."""
        level = fields(value, ("level",))["level"]
        most = len(self.points) - 1
        if isinstance(level, bool) or not isinstance(level, int) or not 0 <= level <= most:
            raise EngineError("level", f"Write the level as a whole number from 0 to {most}.")
        met = level >= self.met_from
        sentence = f"Level {level}: {self.descriptions[level]}"
        if not met:
            sentence = f"{sentence} Needed is level {self.met_from} or higher."
        inputs = {"level": level, "points": list(self.point_texts), "met_from": self.met_from}
        return CriterionResult("met" if met else "not_met", self.scores[level], sentence, inputs)


def load(document: Document) -> Rated:
    """Read ``levels`` [{points, description}] and ``met_from`` (an index into them)."""
    levels = items(document, "levels", least=2)
    points: list[Exact] = []
    descriptions: list[str] = []
    for i, level in enumerate(levels):
        with at(f"levels[{i}]"):
            fields(level, ("points", "description"))
            points.append(number(level, "points"))
            descriptions.append(_sentence(text(level, "description")))
            if i and points[i] <= points[i - 1]:
                raise EngineError("points", "Write more points than for the level before.")
    met_from = whole(document, "met_from", 1, len(levels) - 1)
    return Rated(
        points=tuple(points),
        descriptions=tuple(descriptions),
        scores=tuple(tidy(to_fraction(each) / points[-1]) for each in points),
        met_from=met_from,
        point_texts=[number_text(each) for each in points],
    )


def _sentence(description: str) -> str:
    description = description.strip()
    return description if description[-1] in ".!?…。" else f"{description}."
