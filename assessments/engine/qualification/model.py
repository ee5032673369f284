"""The rules of qualification, read and checked, and the extents that follow from them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from assessments.engine.numbers import Exact

Kind = Literal["ordered", "as_assessed", "window"]


@dataclass(frozen=True, slots=True)
class Variable:
    """One thing that a record's range is stated in, such as the position of the work.

    ``ordered`` and ``as_assessed`` have ``values`` (the easiest first where ordered) and those
    ``assessed``. A ``window`` has a ``unit``, the ``size`` assessed in the base unit (nm for a
    length) and the factors ``low`` and ``high`` on it, None where that side has no end.
    """

    key: str
    title: str
    kind: Kind
    source: str
    values: tuple[str, ...] = ()
    assessed: tuple[str, ...] = ()
    unit: str | None = None
    size: Exact | None = None
    low: Exact | None = None
    high: Exact | None = None


@dataclass(frozen=True, slots=True)
class Continuity:
    """The work is confirmed every so many months, signed at most ``grace_days`` after that."""

    every_months: int
    grace_days: int


@dataclass(frozen=True, slots=True)
class Renewal:
    """A shorter attempt at ``stages`` renews a record around its last day."""

    before_days: int
    after_days: int
    stages: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Rules:
    """All rules of one passing standard; ``basis`` says who set them and on what grounds."""

    basis: str
    variables: tuple[Variable, ...]
    continuity: Continuity | None
    renewal: Renewal | None

    def variable(self, key: str) -> Variable | None:
        """The variable of that key, or None."""
        return next((each for each in self.variables if each.key == key), None)


@dataclass(frozen=True, slots=True)
class Extent:
    """What is covered, or asked for, of one variable: some ``values``, or ``low`` to ``high``.

    The ends are in the base unit and inclusive, None where there is none; ``unit`` is the one
    they are shown in, and None for values.
    """

    key: str
    title: str
    values: tuple[str, ...] = ()
    low: Exact | None = None
    high: Exact | None = None
    unit: str | None = None
