"""The decided attempts under a sealed standard, as arrays without a name in them.

An open attempt is left out: its scores may still be corrected; so is a void one. What a retake
carried over from the attempt before counts there alone: in the retake it is as what does not
apply. Trainees are T1, T2, ... in an
order that says nothing (that of the attempts' random ids), assessors A, B, ... from the one who
scored first.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

import numpy as np
from django.db.models import Prefetch
from django.utils import timezone

from assessments.engine.canonical import digest
from assessments.engine.findings import findings, hold_points
from assessments.engine.kinds import CriterionResult, Rated
from assessments.engine.numbers import number_text, to_fraction
from assessments.engine.observations import load_observations
from assessments.engine.rule import Combined, Findings, give
from assessments.engine.standard import Criterion, Standard, load_standard
from assessments.evidence.scores import Item, Scores
from assessments.models import Attempt, Decision, Observation, SealedStandard
from assessments.queries.attempts import current_decision, document_of
from assessments.queries.evidence.minutes import seconds_taken

SCHEMA = "bankermark/evidence-input/1"


@dataclass(frozen=True)
class Given:
    """What one assessor's current observation of a criterion came to; ``seconds`` taken or None."""

    assessor: int
    result: CriterionResult
    seconds: int | None


@dataclass(frozen=True)
class Judged:
    """A decided attempt: for each criterion what was given, whether it applies, and whether it
    decided alone."""

    attempt: Attempt
    decision: Decision
    given: list[list[Given]]
    applies: list[bool]
    alone: list[bool]


@dataclass(frozen=True)
class Cohort:
    """The scores; the plain data that they were made from, exact; how many people and runs.

    ``first`` and ``last`` are the days on which attempts were decided.
    """

    scores: Scores
    document: dict[str, Any]
    people: int
    runs: int
    first: date | None
    last: date | None

    @property
    def facts(self) -> dict[str, int | str | None]:
        """How big the cohort is and when it was decided, as plain data."""
        return {
            "attempts": len(self.scores.trainees),
            "people": self.people,
            "runs": self.runs,
            "decided_from": self.first.isoformat() if self.first else None,
            "decided_until": self.last.isoformat() if self.last else None,
        }

    @property
    def digest(self) -> str:
        """The digest of what went in: the same scores give the same."""
        return digest(self.document)


def scores_of(standard: SealedStandard) -> Scores:
    """Return the scores of the decided attempts under ``standard`` (three queries)."""
    return cohort_of(standard).scores


def cohort_of(standard: SealedStandard) -> Cohort:
    """Return the decided attempts under ``standard``, judged by the engine (three queries)."""
    loaded = load_standard(standard.document)
    attempts = list(
        standard.attempts.filter(state=Attempt.State.DECIDED)
        .select_related("enrolment")
        .prefetch_related(
            Prefetch("observations", Observation.objects.order_by("received_at", "seq", "pk")),
            Prefetch("decisions", Decision.objects.defer("document", "observations")),
        )
        .order_by("pk")
    )
    judged = [found for attempt in attempts if (found := _judged(loaded, attempt)) is not None]
    assessors = _assessors(judged)
    trainees = _trainees(judged)
    days = [timezone.localdate(each.decision.decided_at) for each in judged]
    return Cohort(
        scores=_scores(loaded, judged, trainees, assessors),
        document=_document(loaded, judged, trainees, assessors),
        people=len({each.attempt.enrolment.person_id for each in judged}),
        runs=len({each.attempt.enrolment.run_id for each in judged}),
        first=min(days, default=None),
        last=max(days, default=None),
    )


def letters(number: int) -> str:
    """Return the name of the assessor ``number``, from 0: A to Z, then AA, AB, ...

    >>> [letters(each) for each in (0, 25, 26, 53, 702)]
    ['A', 'Z', 'AA', 'BB', 'AAA']
    """
    rest, last = divmod(number, 26)
    return (letters(rest - 1) if rest else "") + chr(ord("A") + last)


def _judged(standard: Standard, attempt: Attempt) -> Judged | None:
    decision = current_decision(attempt)
    if decision is None:
        return None
    rows = list(attempt.observations.all())
    sheet = load_observations(document_of(attempt, rows), standard)
    found = findings(standard, sheet, hold_points(standard, sheet))
    seconds = seconds_taken(row for row in rows if row.carried_from_id is None)
    carried = {row.subject_key for row in rows if row.carried_from_id is not None}
    failed = decision.result == Decision.Result.NOT_YET_MET
    return Judged(
        attempt=attempt,
        decision=decision,
        given=[
            [
                Given(int(assessor), result, seconds.get((criterion.key, int(assessor))))
                for assessor, result in sheet.found.get(criterion.key, [])
                if criterion.key not in carried
            ]
            for criterion in standard.criteria
        ],
        applies=[
            each.result != "not_applicable" and criterion.key not in carried
            for criterion, each in zip(standard.criteria, found.criteria, strict=True)
        ],
        alone=[
            failed and criterion.key not in carried and _decided_alone(standard, found, place)
            for place, criterion in enumerate(standard.criteria)
        ],
    )


def _decided_alone(standard: Standard, found: Findings, place: int) -> bool:
    """Say whether full marks on this criterion, all else as it is, would have met the standard."""
    criteria = list(found.criteria)
    if criteria[place].result == "not_applicable" or criteria[place].low == 1:
        return False
    criteria[place] = Combined("met", 1, 1, True, True, criteria[place].assessors)
    return give(standard, replace(found, criteria=criteria)).verdict == "met"


def _assessors(judged: Sequence[Judged]) -> dict[int, str]:
    """Return the letter of each assessor's id, in the order of their first observations."""
    rows = [row for each in judged for row in each.attempt.observations.all()]
    rows.sort(key=lambda row: (row.received_at, row.seq, row.pk))
    ids = dict.fromkeys(row.assessor_id for row in rows)
    return {assessor: letters(number) for number, assessor in enumerate(ids)}


def _trainees(judged: Sequence[Judged]) -> list[str]:
    """Return a label for each attempt; a later go of the same trainee says so."""
    numbers: dict[int, int] = {}
    found = []
    for each in judged:
        number = numbers.setdefault(each.attempt.enrolment.person_id, len(numbers) + 1)
        go = each.attempt.number
        found.append(f"T{number}" if go == 1 else f"T{number}, attempt {go}")
    return _distinct(found)


def _distinct(labels: list[str]) -> list[str]:
    """Number the labels that stand twice: first attempts of one trainee on two runs."""
    seen: dict[str, int] = {}
    found = []
    for label in labels:
        seen[label] = seen.get(label, 0) + 1
        found.append(label if seen[label] == 1 else f"{label}, run {seen[label]}")
    return found


def _scores(
    standard: Standard,
    judged: Sequence[Judged],
    trainees: Sequence[str],
    assessors: dict[int, str],
) -> Scores:
    columns = {assessor: column for column, assessor in enumerate(assessors)}
    people, items = len(judged), len(standard.criteria)
    values = np.full((people, items, len(columns)), np.nan)
    minutes = np.full((people, items), np.nan)
    for row, each in enumerate(judged):
        for place, given in enumerate(each.given):
            for one in given:
                if one.result.score is not None:
                    values[row, place, columns[one.assessor]] = float(one.result.score)
            taken = [one.seconds for one in given if one.seconds is not None]
            if taken:
                minutes[row, place] = sum(taken) / len(taken) / 60
    cut = standard.pass_rule.cut
    return Scores(
        trainees=tuple(trainees),
        items=tuple(_item(each) for each in standard.criteria),
        assessors=tuple(assessors.values()),
        values=values,
        applies=np.array([each.applies for each in judged], dtype=bool).reshape(people, items),
        results=tuple(each.decision.result for each in judged),
        alone=np.array([each.alone for each in judged], dtype=bool).reshape(people, items),
        minutes=minutes,
        cut=None if cut is None else float(to_fraction(cut)),
    )


def _item(criterion: Criterion) -> Item:
    rule = criterion.rule
    rated = rule.scores if isinstance(rule, Rated) else (0, 1)
    return Item(
        key=criterion.key,
        title=criterion.title,
        kind=rule.kind,
        critical=criterion.critical,
        weight=float(to_fraction(criterion.weight)),
        met_share=float(to_fraction(rule.threshold)),
        levels=tuple(float(to_fraction(each)) for each in rated),
        outcomes=tuple(key for key, _ in criterion.outcomes),
    )


def _document(
    standard: Standard,
    judged: Sequence[Judged],
    trainees: Sequence[str],
    assessors: dict[int, str],
) -> dict[str, Any]:
    return {
        "schema": SCHEMA,
        "standard_digest": standard.digest,
        "attempts": [
            {
                "trainee": label,
                "result": each.decision.result,
                "criteria": [
                    {
                        "key": criterion.key,
                        "applies": each.applies[place],
                        "alone": each.alone[place],
                        "scores": [_given(one, assessors) for one in each.given[place]],
                    }
                    for place, criterion in enumerate(standard.criteria)
                ],
            }
            for label, each in zip(trainees, judged, strict=True)
        ],
    }


def _given(one: Given, assessors: dict[int, str]) -> dict[str, Any]:
    score = one.result.score
    return {
        "assessor": assessors[one.assessor],
        "result": one.result.result,
        "score": None if score is None else number_text(score),
        "seconds": one.seconds,
    }
