"""What a record covers: the range that follows from the rules, and whether a need lies in it."""

from __future__ import annotations

from dataclasses import dataclass

from assessments.engine.numbers import Exact, tidy, to_fraction
from assessments.engine.qualification.model import Extent, Rules, Variable
from assessments.engine.qualification.need import Need
from assessments.engine.qualification.words import rule_sentence, said, sentence
from assessments.engine.units import UNITS


@dataclass(frozen=True, slots=True)
class Range:
    """What is covered: an extent for each variable of the rules, in their order."""

    rules: Rules
    extents: tuple[Extent, ...]

    def rows(self) -> list[dict[str, str]]:
        """{key, title, covers, rule} of each variable, in sentences for screens and paper."""
        return [
            {
                "key": extent.key,
                "title": extent.title,
                "covers": sentence(said(extent)),
                "rule": rule_sentence(variable),
            }
            for variable, extent in zip(self.rules.variables, self.extents, strict=True)
        ]

    def extent(self, key: str) -> Extent | None:
        """What is covered of the variable of that key; None where the rules have none."""
        return next((each for each in self.extents if each.key == key), None)


@dataclass(frozen=True, slots=True)
class Shortfall:
    """One thing asked for that is not covered, with the sentence that says so."""

    key: str
    sentence: str


def range_of(rules: Rules) -> Range:
    """The range that follows from the rules: what was assessed and what is easier."""
    return Range(rules, tuple(_extent(each) for each in rules.variables))


def _extent(variable: Variable) -> Extent:
    if variable.kind == "as_assessed":
        return Extent(variable.key, variable.title, values=variable.assessed)
    if variable.kind == "ordered":
        hardest = variable.values.index(variable.assessed[0])
        return Extent(variable.key, variable.title, values=variable.values[: hardest + 1])
    assert variable.size is not None
    return Extent(
        variable.key,
        variable.title,
        low=_times(variable.low, variable.size),
        high=_times(variable.high, variable.size),
        unit=variable.unit,
    )


def _times(factor: Exact | None, size: Exact) -> Exact | None:
    return None if factor is None else tidy(to_fraction(factor) * size)


def covers(covered: Range, need: Need) -> tuple[Shortfall, ...]:
    """What of the need the range does not cover, in the need's order; empty when all of it is.

    A need is covered when all that it asks for is: every value, and every size between its ends.
    """
    found = []
    for asked in need.extents:
        extent = covered.extent(asked.key)
        if extent is not None and _inside(asked, extent):
            continue
        of = "says nothing about it" if extent is None else f"covers {said(extent)}"
        are = "are" if len(asked.values) > 1 else "is"
        text = f"{asked.title}: {said(asked)} {are} asked for, the record {of}."
        found.append(Shortfall(asked.key, text))
    return tuple(found)


def within(inner: Range, outer: Range) -> bool:
    """Whether all that ``inner`` covers is covered by ``outer``.

    A variable that a range has no rule about does not narrow it, so that ``inner`` must have
    each variable of ``outer``. Reflexive and transitive.
    """
    for extent in outer.extents:
        narrower = inner.extent(extent.key)
        if narrower is None or not _inside(narrower, extent):
            return False
    return True


def _inside(inner: Extent, outer: Extent) -> bool:
    if inner.unit is None or outer.unit is None:
        return inner.unit is outer.unit and set(inner.values) <= set(outer.values)
    if UNITS[inner.unit].dimension != UNITS[outer.unit].dimension:
        return False
    above = outer.low is None or (inner.low is not None and inner.low >= outer.low)
    below = outer.high is None or (inner.high is not None and inner.high <= outer.high)
    return above and below


def range_as_need(covered: Range) -> Need:
    """The need that asks for all that the range covers."""
    return Need(covered.extents)
