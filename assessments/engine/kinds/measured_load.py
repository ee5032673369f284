"""Read a measured criterion from its document."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from math import sqrt

from assessments.engine.errors import EngineError
from assessments.engine.fields import Document, at, choice, fields, number, text, whole
from assessments.engine.formula import Amount, limit
from assessments.engine.kinds.limits import load_limits
from assessments.engine.kinds.measured import STATISTICS, Instrument, Measured
from assessments.engine.numbers import (
    Exact,
    exact,
    is_exact,
    number_text,
    root_up,
    tidy,
    to_fraction,
)
from assessments.engine.uncertainty import variance
from assessments.engine.units import QUANTITIES, Unit, unit_named

FIELDS = ("quantity", "unit", "readings", "statistic", "limits", "decision_rule")
OPTIONAL = ("limits_source", "instrument", "coverage_factor", "minimum_ratio")
MOST_READINGS = 100
MOST_ENDS = 10


def load(document: Document, dimensions: Mapping[str, Amount]) -> Measured:
    """Read the fields of a measured criterion (FORMATS.md); EngineError at the field."""
    quantity = choice(document, "quantity", QUANTITIES)
    with at("unit"):
        unit = unit_named(document["unit"], quantity)
    statistic = choice(document, "statistic", STATISTICS)

    def read(value: object) -> Exact:
        if not isinstance(value, str):
            raise EngineError("", 'Write a number or a formula as text, such as "1/8".')
        if not is_exact(value):
            found = limit(value, dimensions, quantity)
        elif statistic == "spread":
            found = _difference(exact(value), unit)
        else:
            found = unit.to_base(exact(value))
        if found < 0:
            raise EngineError("", "The limit comes out below 0: write 0 or more.")
        return found

    limits = load_limits(document, read)
    back = _as_difference if statistic == "spread" else Unit.from_base
    texts = [
        None if end is None else number_text(back(unit, end))
        for end in (limits.lower, limits.upper)
    ]
    instrument = _instrument(document, unit)
    coverage = _positive(document, "coverage_factor")
    r = _guard_band(document)
    if r is not None and (instrument is None or coverage is None):
        raise EngineError(
            "instrument" if instrument is None else "coverage_factor",
            "A guard band needs an instrument and a coverage factor: write both.",
        )
    ratio = _positive(document, "minimum_ratio")
    wide = limits.upper is not None and (limits.lower is not None or quantity != "temperature")
    if ratio is not None and (instrument is None or coverage is None or not wide):
        raise EngineError(
            "minimum_ratio",
            "The ratio needs an upper limit (both for a temperature), an instrument and a coverage "
            "factor: write them, or null here.",
        )
    formulas = [
        None if end is None or is_exact(end) else end
        for end in (document["limits"]["lower"], document["limits"]["upper"])
    ]
    square = None if instrument is None else _variance(instrument, statistic)
    guard_band = None
    if square is not None and r is not None and coverage is not None:
        guard_band = (r * coverage) ** 2 * square
    return Measured(
        quantity=quantity,
        unit=unit.name,
        readings=whole(document, "readings", 1, MOST_READINGS),
        statistic=statistic,
        limits=limits,
        limit_texts=(texts[0], texts[1]),
        formulas=(formulas[0], formulas[1]),
        source=text(document, "limits_source", empty=True) if "limits_source" in document else "",
        instrument=instrument,
        variance=square,
        coverage_factor=coverage,
        r=r,
        guard_band_square=guard_band,
        guard_band_up=root_up(guard_band or 0),
        deviation=sqrt(square or 0),
        minimum_ratio=ratio,
    )


def _instrument(document: Document, unit: Unit) -> Instrument | None:
    if document.get("instrument") is None:
        return None
    with at("instrument"):
        found = fields(
            document["instrument"], ("name", "maximum_permissible_error", "resolution", "ends")
        )
        return Instrument(
            name=text(found, "name"),
            maximum_permissible_error=_difference(number(found, "maximum_permissible_error"), unit),
            resolution=_difference(number(found, "resolution", above=0), unit),
            ends=whole(found, "ends", 1, MOST_ENDS),
        )


def _variance(instrument: Instrument, statistic: str) -> Fraction:
    one = variance(instrument.maximum_permissible_error, instrument.resolution, instrument.ends)
    return 2 * one if statistic == "spread" else one


def _guard_band(document: Document) -> Exact | None:
    """r of the guard band; None under simple acceptance."""
    with at("decision_rule"):
        rule = fields(document["decision_rule"], ("kind",), ("r",))
        if choice(rule, "kind", ("simple", "guard_band")) == "simple":
            if rule.get("r") is not None:
                raise EngineError("r", "Simple acceptance has no r: leave it out.")
            return None
        fields(rule, ("kind", "r"))
        return number(rule, "r", above=0)


def _positive(document: Document, name: str) -> Exact | None:
    return None if document.get(name) is None else number(document, name, above=0)


def _difference(value: Exact, unit: Unit) -> Exact:
    return tidy(to_fraction(value) * unit.factor)


def _as_difference(unit: Unit, base: Exact) -> Exact:
    return tidy(to_fraction(base) / unit.factor)
