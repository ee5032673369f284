"""Why the result is what it is, in sentences a mason reads."""

from __future__ import annotations

from collections.abc import Iterator

from assessments.engine.numbers import percent_text
from assessments.engine.rule import Findings, Part, Ruling, Score
from assessments.engine.standard import Standard


def reasons(
    standard: Standard, holds: dict[str, str], found: Findings, ruling: Ruling
) -> list[str]:
    """The sentences; never empty."""
    if ruling.verdict == "incomplete":
        return list(_incomplete(standard, holds, found, ruling))
    if ruling.verdict == "met":
        return [_met(part, standard, ruling) for part in ruling.parts]
    failing = ruling.verdict == "not_yet_met"
    said = []
    for part in ruling.parts:
        if not (part.possible if failing else part.sure):
            said += list(_short(part, standard, found, ruling))
    return said


def _incomplete(
    standard: Standard, holds: dict[str, str], found: Findings, ruling: Ruling
) -> Iterator[str]:
    for key in found.hold_points:
        word = "was not accepted" if holds[key] == "refused" else "has not been looked at"
        yield f"Hold point {key} {word}: accept it, then go on."
    required = standard.pass_rule.required
    who = "" if required == 1 else f" by {required} assessors"
    for key in found.missing:
        yield f"{key}, {standard.criterion(key).title}: to be observed{who}."
    if found.blocked:
        yield f"Behind a hold point and not counted: {', '.join(found.blocked)}."
    for key in ruling.unassessed:
        what = "the task" if key == "overall" else f"outcome {key}"
        yield f"Every criterion of {what} was marked not applicable: nothing shows that it is met."


def _score(part: Part, ruling: Ruling, standard: Standard) -> tuple[str, Score, str]:
    """The name of a scored part, its score, and what is needed."""
    assert ruling.overall is not None
    assert ruling.outcomes is not None
    if part.name == "overall":
        assert standard.pass_rule.cut is not None
        return "Overall", ruling.overall, percent_text(standard.pass_rule.cut)
    keys = [outcome.key for outcome in standard.outcomes]
    place = keys.index(part.name.removeprefix("outcome "))
    least = standard.outcomes[place].minimum
    assert least is not None
    return f"Outcome {keys[place]}", ruling.outcomes[place], percent_text(least)


def _met(part: Part, standard: Standard, ruling: Ruling) -> str:
    if part.name == "critical":
        return "Every critical criterion is met."
    name, score, needed = _score(part, ruling, standard)
    assert score.low is not None
    return f"{name}: {percent_text(score.low)}; needed is {needed}."


def _short(part: Part, standard: Standard, found: Findings, ruling: Ruling) -> Iterator[str]:
    """Why a part is not met, or open."""
    if part.name == "critical":
        for criterion, each in zip(standard.criteria, found.criteria, strict=True):
            if criterion.critical and not (each.sure if part.possible else each.possible):
                state = "open" if each.possible else "not met"
                yield f"{criterion.key}, {criterion.title}, is critical and {state}."
        return
    name, score, needed = _score(part, ruling, standard)
    assert score.low is not None
    assert score.high is not None
    said = percent_text(score.low)
    if score.high != score.low:
        said = f"{said} to {percent_text(score.high)}"
    yield f"{name}: {said}; needed is {needed}."
    if part.name == "overall" and part.possible and not found.second and standard.pass_rule.band:
        yield (
            f"That is within {percent_text(standard.pass_rule.band)} of the cut: "
            "a second assessor must score the attempt."
        )
