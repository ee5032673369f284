"""Steps of the scores and of the pass rule."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from assessments.engine.numbers import Exact, number_text, percent_text, tidy, to_fraction
from assessments.engine.rule import Findings, Part, Ruling, Score
from assessments.engine.standard import Standard
from assessments.engine.standard.model import Group

VERDICTS = {
    "met": "The passing standard is met.",
    "not_yet_met": "The passing standard is not yet met.",
    "undecided": "The result is open until a second assessor has scored and nothing differs.",
    "incomplete": "The attempt is not complete: what is missing is no failure.",
}


def rule_steps(standard: Standard, found: Findings, ruling: Ruling) -> Iterator[dict[str, Any]]:
    """The steps from the criteria to the result."""
    parts = {part.name: part for part in ruling.parts}
    asked = standard.pass_rule.outcome_minima
    if ruling.outcomes is not None and ruling.overall is not None:
        for outcome, group, score in zip(
            standard.outcomes, standard.by_outcome, ruling.outcomes, strict=True
        ):
            part = parts.get(f"outcome {outcome.key}")
            yield {
                "rule": "outcome",
                "inputs": {
                    "outcome": outcome.key,
                    "minimum": _text(outcome.minimum if asked else None),
                    **_scored(standard, group, score, found),
                },
                "result": _result(score, part),
                "sentence": f"Outcome {outcome.key}: {_said(group, score, outcome.minimum, part)}",
            }
        yield _overall(standard, found, ruling.overall, parts.get("overall"))
    if "critical" in parts:
        yield _critical(standard, found, parts["critical"])
    yield _last(found, ruling)


def _overall(
    standard: Standard, found: Findings, score: Score, part: Part | None
) -> dict[str, Any]:
    rule = standard.pass_rule
    sentence = f"Overall: {_said(standard.overall, score, rule.cut, part)}"
    if rule.band and not found.second:
        sentence += f" Within {percent_text(rule.band)} of the cut a second assessor must score."
    return {
        "rule": "overall",
        "inputs": {
            "cut": _text(rule.cut),
            "band": number_text(rule.band),
            "second_assessor": found.second,
            **_scored(standard, standard.overall, score, found),
        },
        "result": _result(score, part),
        "sentence": sentence,
    }


def _critical(standard: Standard, found: Findings, part: Part) -> dict[str, Any]:
    rows = [
        {"criterion": criterion.key, "sure": each.sure, "possible": each.possible}
        for criterion, each in zip(standard.criteria, found.criteria, strict=True)
        if criterion.critical
    ]
    failed = [str(row["criterion"]) for row in rows if not row["sure"]]
    return {
        "rule": "critical",
        "inputs": {"criteria": rows},
        "result": {"sure": part.sure, "possible": part.possible},
        "sentence": (
            f"Every critical criterion must be met; open or not met: {', '.join(failed)}."
            if failed
            else f"All {len(rows)} critical criteria are met or do not apply."
        ),
    }


def _last(found: Findings, ruling: Ruling) -> dict[str, Any]:
    return {
        "rule": "result",
        "inputs": {
            "missing": list(found.missing),
            "blocked": list(found.blocked),
            "hold_points": list(found.hold_points),
            "unassessed": list(ruling.unassessed),
            "parts": [
                {"part": part.name, "sure": part.sure, "possible": part.possible}
                for part in ruling.parts
            ],
        },
        "result": ruling.verdict,
        "sentence": VERDICTS[ruling.verdict],
    }


def _scored(
    standard: Standard, group: Group, score: Score, found: Findings
) -> dict[str, list[dict[str, Any]]]:
    counted, left_out = [], []
    for position, _, weight in group.parts:
        key = standard.criteria[position].key
        each = found.criteria[position]
        if each.low is None or each.high is None:
            left_out.append({"criterion": key, "weight": weight})
        else:
            low = number_text(each.low)
            high = low if each.high is each.low else number_text(each.high)
            counted.append({"criterion": key, "weight": weight, "low": low, "high": high})
    return {"counted": counted, "left_out": left_out}


def _result(score: Score, part: Part | None) -> dict[str, Any]:
    return {
        "low": _text(score.low),
        "high": _text(score.high),
        "sure": part.sure if part else None,
        "possible": part.possible if part else None,
    }


def _said(group: Group, score: Score, least: Exact | None, part: Part | None) -> str:
    if score.low is None or score.high is None:
        return "nothing in it applies, so there is no score."
    said = percent_text(score.low)
    if score.high != score.low:
        said = f"{said} to {percent_text(score.high)}, as long as something is open"
    if score.left_out:
        weights = {position: weight for position, weight, _ in group.parts}
        rest = sum(weights[position] for position in score.counted)
        total = _weight(sum(weights.values()), group)
        said = f"{said} (of {total} in weights, {_weight(rest, group)} apply and make up the whole)"
    if part is None or least is None:
        return f"{said}."
    state = "met" if part.sure else "open" if part.possible else "not met"
    return f"{said}; needed is {percent_text(least)}: {state}."


def _weight(scaled: int, group: Group) -> str:
    return number_text(tidy(to_fraction(scaled) / group.scale))


def _text(value: Exact | None) -> str | None:
    return None if value is None else number_text(value)
