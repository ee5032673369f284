"""Lower and upper limits, either of which may be null, and how they are said."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from assessments.engine.errors import EngineError
from assessments.engine.fields import Document, at, fields
from assessments.engine.numbers import Exact


@dataclass(frozen=True, slots=True)
class Limits:
    """Both ends belong to what is allowed."""

    lower: Exact | None
    upper: Exact | None

    def holds(self, value: Exact) -> bool:
        """Whether a value lies within the limits, or on one."""
        return (self.lower is None or value >= self.lower) and (
            self.upper is None or value <= self.upper
        )

    def distance(self, value: Exact) -> Exact:
        """How far outside the limits a value lies; 0 within.

        >>> [Limits(2, 4).distance(value) for value in (1, 2, 4, 7)]
        [1, 0, 0, 3]
        """
        if self.lower is not None and value < self.lower:
            return self.lower - value
        if self.upper is not None and value > self.upper:
            return value - self.upper
        return 0

    def text(self, show: Callable[[Exact], str]) -> str:
        """The limits in words.

        >>> Limits(None, 2).text(str), Limits(1, 2).text(str), Limits(1, 1).text(str)
        ('2 or less', '1 to 2', '1 exactly')
        """
        if self.lower is None and self.upper is not None:
            return f"{show(self.upper)} or less"
        if self.upper is None and self.lower is not None:
            return f"{show(self.lower)} or more"
        assert self.lower is not None
        assert self.upper is not None
        if self.lower == self.upper:
            return f"{show(self.lower)} exactly"
        return f"{show(self.lower)} to {show(self.upper)}"


def load_limits(document: Document, read: Callable[[object], Exact]) -> Limits:
    """Read ``limits`` {lower, upper}; at least one, not negative, not the wrong way round."""
    with at("limits"):
        sides = fields(document["limits"], ("lower", "upper"))
        ends: list[Exact | None] = []
        for name in ("lower", "upper"):
            with at(name):
                ends.append(None if sides[name] is None else read(sides[name]))
        lower, upper = ends
        if lower is None and upper is None:
            raise EngineError("", "Write a lower limit, an upper limit or both.")
        if lower is not None and upper is not None and lower > upper:
            raise EngineError("upper", "The upper limit is below the lower limit: swap them.")
    return Limits(lower, upper)
