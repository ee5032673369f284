"""When an attempt may be made again, and which of its stages: whole days and keys, no clock."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from assessments.engine.errors import EngineError
from assessments.engine.findings import hold_points
from assessments.engine.observations import load_observations
from assessments.engine.second_look.rules import RetakeRule
from assessments.engine.standard import Standard

# What a criterion's result may be for its stage to stand.
STANDS = ("met", "not_applicable")
INCOMPLETE = "incomplete"


@dataclass(frozen=True, slots=True)
class Again:
    """Which stages are made again, and which stand, in working order.

    Both are empty for the whole task. Stages with nothing to observe are in neither.
    """

    stages: tuple[str, ...] = ()
    carried: tuple[str, ...] = ()

    @property
    def whole(self) -> bool:
        """Whether the whole task is made again."""
        return not self.carried


def earliest_day(rule: RetakeRule | None, decided_on: date, result: str) -> date:
    """The first day on which an attempt may be made again.

    ``decided_on`` is the day of the attempt's first decision, so that a review makes nobody wait
    longer. What was incomplete may go on at once: nothing was judged that wants practice.
    """
    if rule is None or result == INCOMPLETE:
        return decided_on
    return decided_on + timedelta(days=rule.after_days)


def attempts_left(rule: RetakeRule | None, made: int) -> int | None:
    """How many attempts are left after ``made``; None without a number. Void ones do not count."""
    if rule is None or rule.most is None:
        return None
    return max(rule.most - made, 0)


def made_again(
    standard: Standard,
    decision: Mapping[str, Any],
    observations: Mapping[str, Any],
    also: Collection[str] = (),
) -> Again:
    """Which stages a decided attempt leaves open, under the scope ``open_stages``.

    A stage is open when one of its criteria is not met (within the guard band, missing and
    blocked are not met either) or its hold point is not accepted. What is made again takes apart
    what was built on it: a stage with a hold point, made again, opens every later one. The whole
    task is made again when no stage is open, since then only the scores fell short, or all are.
    Stages in ``also`` are open whatever they came to.

    ``decision`` and ``observations`` are the documents of the attempt under ``standard``; raises
    EngineError where they are of another standard.
    """
    if decision["standard_digest"] != standard.digest:
        raise EngineError("standard_digest", "The decision was made under another standard.")
    holds = hold_points(standard, load_observations(observations, standard))
    results = {row["key"]: row["result"] for row in decision["criteria"]}
    open_, stand, covering = [], [], False
    for index, stage in enumerate(standard.stages):
        keys = [each.key for each in standard.criteria if each.stage == index]
        if not keys and not stage.hold_point:
            continue
        refused = stage.hold_point and holds[stage.key] != "accepted"
        if covering or refused or stage.key in also or _fails(results[key] for key in keys):
            open_.append(stage.key)
            covering = covering or stage.hold_point
        else:
            stand.append(stage.key)
    return Again(tuple(open_), tuple(stand)) if open_ and stand else Again()


def _fails(results: Iterable[str]) -> bool:
    return any(result not in STANDS for result in results)
