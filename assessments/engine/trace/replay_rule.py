"""Work out the steps of the pass rule anew."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from assessments.engine.errors import EngineError
from assessments.engine.numbers import number_text, tidy
from assessments.engine.trace.known import Known

Inputs = dict[str, Any]


def hold_point(inputs: Inputs, known: Known) -> str:
    """Accepted by someone, and refused by nobody."""
    if inputs["refused_by"]:
        return "refused"
    return "accepted" if inputs["accepted_by"] else "missing"


def missing(inputs: Inputs, known: Known) -> str:
    """Fewer complete observations than are required."""
    seen = known.observed.get(inputs["criterion"], [])
    complete = sum(each["result"] != "missing" for each in seen)
    return "missing" if complete == inputs["observed"] < inputs["required"] else "observed"


def combine(inputs: Inputs, known: Known) -> Inputs:
    """One result from those of all assessors."""
    _same(inputs["results"], known.observed[inputs["criterion"]], inputs["criterion"])
    complete = [each for each in inputs["results"] if each["result"] != "missing"]
    scored = [each for each in complete if each["score"] is not None]
    agreement = inputs["combine"] == "agreement"
    if not scored:
        return {
            "result": "not_applicable", "low": None, "high": None, "sure": True, "possible": True,
        }  # fmt: skip
    if agreement and len(scored) < len(complete):
        return {"result": "disagreed", "low": "0", "high": "1", "sure": False, "possible": True}
    threshold = Fraction(inputs["threshold"])
    open_band = inputs["guard_band"] == "undecided" and len(complete) == 1
    low = _joined(scored, inputs["combine"], 0, min)
    high = _joined(scored, inputs["combine"], int(open_band), max if agreement else min)
    best = _joined(scored, inputs["combine"], 1, max if agreement else min)
    in_band = any(each["result"] == "within_guard_band" for each in scored)
    if low >= threshold:
        result = "met"
    elif best < threshold:
        result = "not_met"
    else:
        result = "within_guard_band" if in_band else "disagreed"
    return {
        "result": result,
        "low": number_text(tidy(low)),
        "high": number_text(tidy(high)),
        "sure": low >= threshold,
        "possible": high >= threshold,
    }


def outcome(inputs: Inputs, known: Known) -> Inputs:
    """An outcome's score against its minimum."""
    least = inputs["minimum"]
    return _scored(inputs, known, least, least)


def overall(inputs: Inputs, known: Known) -> Inputs:
    """The overall score against the cut, with its band until a second assessor has scored."""
    if inputs["cut"] is None:
        return _scored(inputs, known, None, None)
    cut = Fraction(inputs["cut"])
    band = Fraction(0) if inputs["second_assessor"] else Fraction(inputs["band"])
    return _scored(inputs, known, cut + band, cut - band)


def critical(inputs: Inputs, known: Known) -> Inputs:
    """Every critical criterion."""
    for row in inputs["criteria"]:
        state = known.states[row["criterion"]]
        if (state["sure"], state["possible"]) != (row["sure"], row["possible"]):
            raise EngineError("trace", f"{row['criterion']} does not stand as it was found.")
    rows = inputs["criteria"]
    return {
        "sure": all(row["sure"] for row in rows),
        "possible": all(row["possible"] for row in rows),
    }


def result(inputs: Inputs, known: Known) -> str:
    """The verdict from all parts."""
    for name, found in known.lacking.items():
        if inputs[name] != found:
            raise EngineError("trace", f"What is {name} is not as it was found.")
    if any(inputs[name] for name in ("missing", "blocked", "hold_points", "unassessed")):
        return "incomplete"
    stated = {part["part"]: (part["sure"], part["possible"]) for part in inputs["parts"]}
    if stated != {name: (part["sure"], part["possible"]) for name, part in known.parts.items()}:
        raise EngineError("trace", "The parts of the rule are not as they were found.")
    if all(sure for sure, _ in stated.values()):
        return "met"
    return "undecided" if all(possible for _, possible in stated.values()) else "not_yet_met"


def _joined(scored: list[Inputs], how: str, band: int, pick: Any) -> Fraction:
    scores = [
        Fraction(band) if each["result"] == "within_guard_band" else Fraction(each["score"])
        for each in scored
    ]
    if how == "mean":
        return sum(scores, Fraction(0)) / len(scores)
    return Fraction(pick(scores))


def _scored(inputs: Inputs, known: Known, sure: Any, possible: Any) -> Inputs:
    total = low = high = Fraction(0)
    for row in inputs["counted"]:
        state = known.states[row["criterion"]]
        if (state["low"], state["high"]) != (row["low"], row["high"]):
            raise EngineError("trace", f"{row['criterion']} does not score as it was found.")
        weight = Fraction(row["weight"])
        total += weight
        low += weight * Fraction(row["low"])
        high += weight * Fraction(row["high"])
    for row in inputs["left_out"]:
        if known.states[row["criterion"]]["low"] is not None:
            raise EngineError("trace", f"{row['criterion']} has a score, but was left out.")
    if not total:
        return {"low": None, "high": None, "sure": None, "possible": None}
    low, high = low / total, high / total
    return {
        "low": number_text(tidy(low)),
        "high": number_text(tidy(high)),
        "sure": None if sure is None else low >= Fraction(sure),
        "possible": None if possible is None else high >= Fraction(possible),
    }


def _same(stated: list[Inputs], found: list[Inputs], key: str) -> None:
    if stated != found:
        raise EngineError("trace", f"The assessors' results of {key} are not as they were found.")
