"""Measured criteria: readings, a statistic over them, limits, an instrument, a decision rule.

JCGM 106:2012: under simple acceptance (8.2) a value within the limits conforms, whatever its
uncertainty; under a guard band (8.3) it must lie at least w = r·U inside them. What lies within
the limits but not inside by w is `within_guard_band`; what lies outside them is `not_met`.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from operator import itemgetter
from typing import Any

from assessments.engine.errors import EngineError
from assessments.engine.fields import fields
from assessments.engine.kinds.limits import Limits
from assessments.engine.kinds.result import CriterionResult, Result
from assessments.engine.numbers import Exact, number_text, tidy
from assessments.engine.quantities import base_of, base_text, difference_text
from assessments.engine.uncertainty import conforming_probability, probability_text
from assessments.engine.units import UNITS

STATISTICS = {
    "each": "Each",
    "mean": "The mean",
    "largest": "The largest",
    "smallest": "The smallest",
    "spread": "The spread",
}


@dataclass(frozen=True, slots=True)
class Instrument:
    """What is read with; error and resolution in base units."""

    name: str
    maximum_permissible_error: Exact
    resolution: Exact
    ends: int


@dataclass(frozen=True, slots=True, eq=False)
class Measured:
    """Limits in the base unit of the quantity; u² and w² = (r·k)²·u² in its square.

    Without an instrument there is no u², under simple acceptance no r and no w².
    ``guard_band_up`` is w rounded up to a whole base unit; ``deviation`` is u, for figures.
    Compared by identity, so that what is worked out from values can be kept cheaply.
    """

    quantity: str
    unit: str
    readings: int
    statistic: str
    limits: Limits
    limit_texts: tuple[str | None, str | None]
    formulas: tuple[str | None, str | None]
    source: str
    instrument: Instrument | None
    variance: Fraction | None
    coverage_factor: Exact | None
    r: Exact | None
    guard_band_square: Fraction | None
    guard_band_up: int
    deviation: float
    minimum_ratio: Exact | None
    kind: str = "measured"
    threshold: Exact = 1

    def show(self, base: Exact) -> str:
        """A value of the statistic for people; a spread is a difference, without an offset."""
        if self.statistic == "spread":
            return difference_text(base, self.unit)
        return base_text(base, self.unit)

    def bases(self, value: dict[str, Any]) -> list[Exact]:
        """The readings of ``{"readings": [{typed, value, unit}]}`` in the base unit."""
        return self._read(value)[0]

    def _read(self, value: dict[str, Any]) -> tuple[list[Exact], list[str]]:
        """The readings in the base unit, and as the trace writes them in the criterion's."""
        readings = fields(value, ("readings",))["readings"]
        if not isinstance(readings, list):
            raise EngineError("readings", "Write a list of readings here: […].")
        if len(readings) > self.readings:
            raise EngineError(
                "readings",
                f"The standard asks for {self.readings}; there are {len(readings)}. "
                "Keep those taken first.",
            )
        bases: list[Exact] = []
        texts: list[str] = []
        asked = self.unit
        try:
            for reading in readings:
                try:
                    typed, text, unit = _three(reading)
                    sound = len(reading) == 3 and type(typed) is type(text) is type(unit) is str
                except (KeyError, TypeError):
                    sound = False
                if not sound:  # "typed" may be left out; the rest is an error
                    text, unit = _value_and_unit(reading)
                base, shown = _reading(text, unit, asked)
                bases.append(base)
                texts.append(shown)
        except EngineError as error:
            raise error.under(f"readings[{len(bases)}]") from None
        return bases, texts

    def judge(self, value: dict[str, Any]) -> CriterionResult:
        """The result of ``{"readings": [{typed, value, unit}, …]}``; fewer is missing."""
        bases, texts = self._read(value)
        inputs: dict[str, Any] = {
            "readings": texts,
            "needed": self.readings,
            "statistic": self.statistic,
            "unit": self.unit,
            "lower": self.limit_texts[0],
            "upper": self.limit_texts[1],
            "guard_band": self.guard_band_square is not None,
        }
        if len(bases) < self.readings:
            sentence = f"{len(bases)} of {self.readings} readings are taken."
            return CriterionResult("missing", None, sentence, inputs)
        worst, sentence, probability = _assessed(self, *self.statistics(bases))
        if probability is not None:
            inputs["probability"] = probability
        return CriterionResult(worst, 1 if worst == "met" else 0, sentence, inputs)

    def statistics(self, bases: list[Exact]) -> list[Exact]:
        """The value, or for ``each`` the smallest and largest, that the limits are for."""
        match self.statistic:
            case "each":
                low, high = min(bases), max(bases)
                return [low] if low == high else [low, high]
            case "mean":
                total = sum(bases)
                if isinstance(total, int) and not total % len(bases):
                    return [total // len(bases)]
                return [tidy(Fraction(total) / len(bases))]
            case "largest":
                return [max(bases)]
            case "smallest":
                return [min(bases)]
            case _:
                return [max(bases) - min(bases)]

    def acceptance(self) -> Limits:
        """The limits drawn in by the guard band, to the next whole base unit (1 nm) inwards."""
        if self.guard_band_square is None:
            return self.limits
        band = self.guard_band_up
        lower, upper = self.limits.lower, self.limits.upper
        return Limits(
            None if lower is None else lower + band, None if upper is None else upper - band
        )

    def assess(self, found: tuple[Exact, ...]) -> tuple[Result, str, str | None]:
        """The worst result of the statistic's values, its sentence, the least probability.

        Without an instrument there is no probability.
        """
        results = [self._zone(each) for each in found]
        worst: Result = "met"
        for result in ("not_met", "within_guard_band"):
            if result in results:
                worst = result
                break
        probability = None
        if self.variance is not None:
            probability = min(self._probability(each) for each in found)
        return worst, self._sentence(worst, found), probability

    def _probability(self, value: Exact) -> str:
        # Differences are taken exactly, so that the floats only carry what is small.
        lower, upper = self.limits.lower, self.limits.upper
        below = None if lower is None else float(lower - value)
        above = None if upper is None else float(upper - value)
        return probability_text(conforming_probability(0.0, below, above, self.deviation))

    def _zone(self, value: Exact) -> Result:
        lower, upper = self.limits.lower, self.limits.upper
        margins = []
        if lower is not None:
            margins.append(value - lower)
        if upper is not None:
            margins.append(upper - value)
        margin = min(margins)
        if margin < 0:
            return "not_met"
        if self.guard_band_square is None or margin >= self.guard_band_up:
            return "met"
        # w itself is irrational as a rule: compare squares, which are exact.
        return "within_guard_band" if margin * margin < self.guard_band_square else "met"

    def _sentence(self, result: Result, found: tuple[Exact, ...]) -> str:
        name = STATISTICS[self.statistic]
        shown = " to ".join(self.show(each) for each in found)
        how = f"{name} of {self.readings} readings" if self.readings > 1 else "The reading"
        sentence = f"{how}: {shown}; allowed: {self.limits.text(self.show)}."
        if result == "within_guard_band":
            return f"{sentence} That is within the limits, but not by the guard band."
        if result == "not_met":
            low, high = found[0], found[-1]
            if self.limits.upper is not None and high > self.limits.upper:
                gap = difference_text(high - self.limits.upper, self.unit)
                sentence = f"{sentence} That is {gap} too much."
            if self.limits.lower is not None and low < self.limits.lower:
                gap = difference_text(self.limits.lower - low, self.unit)
                sentence = f"{sentence} That is {gap} too little."
        return sentence


_READING = {"typed": 0, "value": 0, "unit": 0}.keys()
_three = itemgetter("typed", "value", "unit")


def _value_and_unit(reading: object) -> tuple[str, str]:
    """The value and unit of a reading, with an error where there is none."""
    if not isinstance(reading, dict) or not reading.keys() <= _READING:
        raise EngineError("", "Write {typed, value, unit} here.")
    typed, text, unit = reading.get("typed", ""), reading.get("value"), reading.get("unit")
    if not (isinstance(text, str) and isinstance(unit, str) and isinstance(typed, str)):
        raise EngineError("value", 'Write value and unit as text, such as "3/2" and "in".')
    return text, unit


@lru_cache(maxsize=8192)
def _reading(text: str, unit: str, asked: str) -> tuple[Exact, str]:
    """A reading in the base unit, and written in the unit of its criterion."""
    base = base_of(text, unit, asked)
    return base, number_text(UNITS[asked].from_base(base))


@lru_cache(maxsize=8192)
def _assessed(rule: Measured, *found: Exact) -> tuple[Result, str, str | None]:
    """As ``Measured.assess``: readings lie on the grid of the instrument, so they come again."""
    return rule.assess(found)
