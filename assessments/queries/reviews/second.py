"""What the engine makes of the observations with a reviewer's scores among them. Pure."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from assessments.engine.judge import CLEARED, judge_value
from assessments.engine.kinds import CriterionResult
from assessments.engine.numbers import Exact, to_fraction
from assessments.engine.standard import Standard
from assessments.subjects import CRITERION

Row = Mapping[str, Any]
# Taken on the piece by an instrument: nobody reads them off a photograph.
READ_ON_SITE = ("measured", "timed")
# Further than any two scores (0 to 1) can be from each other.
FARTHEST = 2


@dataclass(frozen=True)
class SecondScore:
    """A value that a reviewer gives a criterion; ``id`` and ``assessor`` as observations have."""

    id: str
    criterion: str
    assessor: str
    value: Mapping[str, Any]
    note: str = ""


def standing_rows(observations: Mapping[str, Any], criterion: str | None = None) -> list[Row]:
    """Return the observations of criteria (or of one) that nothing replaces or takes back."""
    rows: Sequence[Row] = observations["observations"]
    replaced = {row["replaces"] for row in rows}
    return [
        row
        for row in rows
        if row["subject"]["kind"] == CRITERION
        and row["id"] not in replaced
        and CLEARED not in row["value"]
        and criterion in (None, row["subject"]["key"])
    ]


def with_second_scores(
    standard: Standard, observations: Mapping[str, Any], scores: Sequence[SecondScore]
) -> dict[str, Any]:
    """Return an observations document in which each score takes one earlier value's place.

    It is the value of that criterion farthest from the reviewer's by score (of several as far,
    the lowest; then the first by id), with all that it had corrected. So as many assessors stand
    behind a criterion as before. Where nobody observed it, the score is added.
    """
    rows: list[Row] = list(observations["observations"])
    by_id = {row["id"]: row for row in rows}
    gone: set[str] = set()
    for score in scores:
        row = _farthest(standard, standing_rows(observations, score.criterion), score)
        step = row["id"] if row else None
        while step is not None:
            gone.add(step)
            step = by_id[step]["replaces"]
    added = [
        {
            "id": score.id,
            "subject": {"kind": CRITERION, "key": score.criterion},
            "assessor": score.assessor,
            "value": dict(score.value),
            "note": score.note,
            "replaces": None,
        }
        for score in scores
    ]
    return {**observations, "observations": [r for r in rows if r["id"] not in gone] + added}


def judged(standard: Standard, criterion: str, value: object) -> CriterionResult:
    """Return what a value of the criterion comes to by itself."""
    return judge_value(standard.criterion(criterion), value)


def _farthest(standard: Standard, rows: Sequence[Row], score: SecondScore) -> Row | None:
    if not rows:
        return None
    own = judged(standard, score.criterion, dict(score.value)).score

    def place(row: Row) -> tuple[Exact, Exact, str]:
        found = judged(standard, score.criterion, row["value"]).score
        return (-_distance(own, found), -1 if found is None else found, row["id"])

    return min(rows, key=place)


def _distance(first: Exact | None, second: Exact | None) -> Exact:
    """Return how far two scores are apart; one that there is none of is farthest from any."""
    if first is None or second is None:
        return 0 if first is second else FARTHEST
    return abs(to_fraction(first) - to_fraction(second))
