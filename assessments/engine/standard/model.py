"""A passing standard, read and checked: what a decision is made by."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from assessments.engine.formula import Amount
from assessments.engine.kinds import AnyRule
from assessments.engine.numbers import Exact

Combine = Literal["mean", "lower", "agreement"]
GuardBand = Literal["not_met", "undecided"]


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a holder can do; ``minimum`` is the least score from 0 to 1, or None."""

    key: str
    statement: str
    minimum: Exact | None


@dataclass(frozen=True, slots=True)
class Stage:
    """A step of the task; with a hold point, it must be accepted before the next counts."""

    key: str
    title: str
    hold_point: bool


@dataclass(frozen=True, slots=True)
class Criterion:
    """One thing looked at. ``stage`` is the index of its stage.

    ``outcomes`` are (key, weight) pairs: in an outcome the criterion counts with weight times
    that weight, in the overall score with weight alone.
    """

    key: str
    title: str
    stage: int
    critical: bool
    not_applicable: bool
    weight: Exact
    outcomes: tuple[tuple[str, Exact], ...]
    guidance: str
    rule: AnyRule


@dataclass(frozen=True, slots=True)
class PassRule:
    """Which parts decide, and how the scores of several assessors become one."""

    critical: bool
    outcome_minima: bool
    cut: Exact | None
    band: Exact
    guard_band: GuardBand
    required: int
    combine: Combine


@dataclass(frozen=True, slots=True)
class Group:
    """The criteria that one score is taken over: (position, weight, weight as text).

    The weights are whole numbers; divided by ``scale`` they are those of the document.
    """

    parts: tuple[tuple[int, int, str], ...]
    scale: int


@dataclass(frozen=True, eq=False)
class Standard:
    """The whole standard; ``digest`` is that of the document it was read from.

    Compared and cached by identity; ``digest`` says whether two are the same.
    """

    digest: str
    program: dict[str, str]
    outcomes: tuple[Outcome, ...]
    stages: tuple[Stage, ...]
    dimensions: dict[str, Amount]
    dimension_texts: dict[str, str] = field(repr=False)
    criteria: tuple[Criterion, ...]
    pass_rule: PassRule
    positions: dict[str, int] = field(repr=False)
    overall: Group = field(repr=False)
    by_outcome: tuple[Group, ...] = field(repr=False)

    def criterion(self, key: str) -> Criterion:
        """The criterion of that key; KeyError where there is none."""
        return self.criteria[self.positions[key]]
