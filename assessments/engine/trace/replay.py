"""Derive a decision again from its trace alone, by the plainest arithmetic there is.

Every step is worked out anew from its inputs, by code that shares nothing with the code that
decided but the grammar of formulas and of numbers. So a reader of a record can check that each
result follows, without the engine's own bookkeeping.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from assessments.engine.errors import EngineError
from assessments.engine.trace.known import Known, Step
from assessments.engine.trace.replay_kinds import KINDS, limit, uncertainty
from assessments.engine.trace.replay_rule import (
    combine,
    critical,
    hold_point,
    missing,
    outcome,
    overall,
    result,
)

_RULES: dict[str, Callable[[Step, Any], Any]] = {
    "limit": limit,
    "uncertainty": uncertainty,
    "hold_point": hold_point,
    "missing": missing,
    "blocked": lambda inputs, known: "blocked",
    "combine": combine,
    "outcome": outcome,
    "overall": overall,
    "critical": critical,
    "result": result,
    **KINDS,
}


def replay(trace: list[Step]) -> dict[str, Any]:
    """``{"result", "overall", "outcomes", "criteria"}`` as they follow from the trace.

    ``overall`` and the ``outcomes`` by key are ``{low, high, sure, possible}`` (numbers as
    text); ``criteria`` are the results by key. Raises EngineError at the first step whose
    result does not follow from its inputs and the steps before it.
    """
    known = Known()
    for i, step in enumerate(trace):
        rule = _RULES.get(step["rule"])
        if rule is None:
            raise EngineError(f"trace[{i}].rule", f"There is no rule “{step['rule']}”.")
        derived = rule(step["inputs"], known)
        if derived != step["result"]:
            raise EngineError(
                f"trace[{i}].result", f"From the inputs follows {derived}, not {step['result']}."
            )
        _note(step, known)
    if known.verdict is None:
        raise EngineError("trace", "The trace has no result.")
    return {
        "result": known.verdict,
        "overall": known.scores.get("overall"),
        "outcomes": {
            name.removeprefix("outcome "): score
            for name, score in known.scores.items()
            if name != "overall"
        },
        "criteria": {key: state["result"] for key, state in known.states.items()},
    }


def _note(step: Step, known: Known) -> None:
    """Remember what a step established, for those after it."""
    rule, inputs, found = step["rule"], step["inputs"], step["result"]
    key = inputs.get("criterion", "")
    if rule == "limit":
        known.limits[key, inputs["side"]] = found
    elif rule == "uncertainty":
        known.uncertainty[key] = {**inputs, **found}
    elif rule == "hold_point" and found != "accepted":
        known.lacking["hold_points"].append(inputs["stage"])
    elif rule in ("missing", "blocked"):
        known.lacking[rule].append(key)
        known.states[key] = {"result": rule, "low": None, "high": None}
    elif rule in KINDS:
        known.observed.setdefault(key, []).append({"assessor": inputs["assessor"], **found})
        met = found["result"] in ("met", "not_applicable")
        score = found["score"]
        known.states[key] = {
            "result": found["result"], "low": score, "high": score, "sure": met, "possible": met,
        }  # fmt: skip
    elif rule == "combine":
        known.states[key] = found
    elif rule in ("outcome", "overall"):
        name = f"outcome {inputs['outcome']}" if rule == "outcome" else rule
        known.scores[name] = found
        if found["sure"] is not None:
            known.parts[name] = found
    elif rule == "critical":
        known.parts["critical"] = found
    elif rule == "result":
        known.verdict = found
