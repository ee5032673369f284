"""Going through criteria one by one, whatever they are scored for."""

from collections.abc import Sequence
from typing import Protocol, TypeVar

from assessments.subjects import Subject


class Scored(Protocol):
    """A subject with whether anything is left to enter there."""

    @property
    def subject(self) -> Subject: ...

    @property
    def done(self) -> bool: ...


Item = TypeVar("Item", bound=Scored)


def line_of(lines: Sequence[Item], key: str) -> Item | None:
    """Return the line of a criterion, or None; for sheets that hold criteria alone."""
    return next((each for each in lines if each.subject.key == key), None)


def ahead_of(lines: Sequence[Item], after: Item | None = None) -> list[Item]:
    """Return the lines that follow ``after``, and from the start again to it."""
    start = lines.index(after) + 1 if after else 0
    return [*lines[start:], *lines[:start]]


def next_of(lines: Sequence[Item], after: Item | None = None) -> Item | None:
    """Return the next line to score, looking on from ``after`` and then from the start."""
    return next((each for each in ahead_of(lines, after) if not each.done), None)


def left_of(lines: Sequence[Scored]) -> int:
    """Return how many lines are still to be scored."""
    return sum(not each.done for each in lines)
