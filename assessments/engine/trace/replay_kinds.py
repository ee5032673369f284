"""Work out the steps of single observations, limits and uncertainties anew."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from fractions import Fraction
from typing import Any

from assessments.engine.formula import Amount
from assessments.engine.formula import limit as formula_limit
from assessments.engine.numbers import number_text, root_text, tidy
from assessments.engine.trace.known import Known
from assessments.engine.units import UNITS

Inputs = dict[str, Any]


def limit(inputs: Inputs, known: Known) -> str:
    """A limit from its formula."""
    dimensions = {}
    for name, text in inputs["dimensions"].items():
        value, unit = text.split(" ")
        amount = Fraction(value) * UNITS[unit].factor
        dimensions[name] = Amount(amount, UNITS[unit].dimension)
    base = formula_limit(inputs["formula"], dimensions, inputs["quantity"])
    return number_text(tidy(Fraction(base) / UNITS[inputs["unit"]].factor))


def uncertainty(inputs: Inputs, known: Known) -> Inputs:
    """u², u, U and the guard band, in the criterion's unit."""
    error, division = (
        Fraction(inputs[name]) for name in ("maximum_permissible_error", "resolution")
    )
    square = error * error / 3 + inputs["ends"] * (division / 2) ** 2 / 3
    if inputs["statistic"] == "spread":
        square *= 2
    k = Fraction(inputs["coverage_factor"])
    r = None if inputs["r"] is None else Fraction(inputs["r"])
    return {
        "variance": number_text(tidy(square)),
        "standard": root_text(square, 6),
        "expanded": root_text(square * k * k, 6),
        "guard_band": None if r is None else root_text(square * (k * r) ** 2, 6),
    }


def measured(inputs: Inputs, known: Known) -> Inputs:
    """Readings against limits, drawn in by the guard band of the uncertainty step."""
    if len(inputs["readings"]) < inputs["needed"]:
        return {"result": "missing", "score": None}
    readings = [Fraction(each) for each in inputs["readings"]]
    match inputs["statistic"]:
        case "each":
            values = readings
        case "mean":
            values = [sum(readings, Fraction(0)) / len(readings)]
        case "largest":
            values = [max(readings)]
        case "smallest":
            values = [min(readings)]
        case _:
            values = [max(readings) - min(readings)]
    key = inputs["criterion"]
    lower, upper = (known.limits.get((key, side), inputs[side]) for side in ("lower", "upper"))
    margins = [value - Fraction(lower) for value in values if lower is not None]
    margins += [Fraction(upper) - value for value in values if upper is not None]
    if min(margins) < 0:
        return {"result": "not_met", "score": "0"}
    if inputs["guard_band"]:
        found = known.uncertainty[key]
        width = Fraction(found["r"]) * Fraction(found["coverage_factor"])
        if min(margins) ** 2 < width**2 * Fraction(found["variance"]):
            return {"result": "within_guard_band", "score": "0"}
    return {"result": "met", "score": "1"}


def rated(inputs: Inputs, known: Known) -> Inputs:
    """A level's points over the most points."""
    points = [Fraction(each) for each in inputs["points"]]
    score = number_text(tidy(points[inputs["level"]] / points[-1]))
    return {"result": _word(inputs["level"] >= inputs["met_from"]), "score": score}


def checked(inputs: Inputs, known: Known) -> Inputs:
    """An answer against the one expected."""
    return _met(inputs["answer"] is inputs["expected"])


def counted(inputs: Inputs, known: Known) -> Inputs:
    """A count against its limits."""
    return _met(_within(Fraction(inputs["count"]), inputs))


def timed(inputs: Inputs, known: Known) -> Inputs:
    """A time from two instants against its limits."""
    if inputs["end"] is None:
        return {"result": "missing", "score": None}
    start, end = (datetime.fromisoformat(inputs[name]) for name in ("start", "end"))
    took = Fraction((end - start) // timedelta(microseconds=1))
    return _met(_within(took / UNITS[inputs["unit"]].factor, inputs))


def not_applicable(inputs: Inputs, known: Known) -> Inputs:
    """What does not apply has no score."""
    return {"result": "not_applicable", "score": None}


def _within(value: Fraction, inputs: Inputs) -> bool:
    lower, upper = inputs["lower"], inputs["upper"]
    return (lower is None or value >= Fraction(lower)) and (
        upper is None or value <= Fraction(upper)
    )


def _word(met: bool) -> str:
    return "met" if met else "not_met"


def _met(met: bool) -> Inputs:
    return {"result": _word(met), "score": "1" if met else "0"}


KINDS: dict[str, Callable[[Inputs, Known], Inputs]] = {
    "measured": measured,
    "rated": rated,
    "checked": checked,
    "counted": counted,
    "timed": timed,
    "not_applicable": not_applicable,
}
