"""The enrolments of runs with the decision that counts for each, and no more than is summed up."""

import uuid
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from django.db.models import Prefetch
from django.db.models.fields.json import KeyTransform

from assessments.models import Attempt, Decision, SealedStandard
from assessments.queries.attempts import Standing
from training.models import CourseRun, Enrolment

Titles = Mapping[uuid.UUID, Mapping[str, str]]


@dataclass(frozen=True)
class Decided:
    """What counts of a decision document: its parts as in engine/FORMATS.md, and its standard."""

    result: str
    standard: uuid.UUID
    overall: Fraction | None
    outcomes: list[Mapping[str, Any]]
    criteria: list[Mapping[str, Any]]


@dataclass(frozen=True)
class Row:
    """An enrolment; ``word`` as in ``queries.attempts.Standing``; ``decided`` None before any."""

    run: uuid.UUID
    person: int
    state: str
    word: str
    decided: Decided | None


@dataclass(frozen=True)
class Loaded:
    """The rows, and the outcomes' statements and criteria's titles of each standard, by key."""

    rows: list[Row]
    statements: Titles
    titles: Titles


def load(runs: Iterable[CourseRun]) -> Loaded:
    """Return every enrolment of ``runs`` but the waiting ones (five queries at most).

    The decision that counts is that of the run's page: met once stays met, else that of the
    latest decided attempt; of an attempt, the one that nothing replaces.
    """
    standings = _standings([run.pk for run in runs])
    chosen = {each.decision.pk for each in standings if each.decision is not None}
    decided = _decided(chosen)
    rows = [
        Row(
            run=each.enrolment.run_id,
            person=each.enrolment.person_id,
            state=each.enrolment.state,
            word=each.word,
            decided=None if each.decision is None else decided[each.decision.pk],
        )
        for each in standings
    ]
    statements, titles = _standards({each.standard for each in decided.values()})
    return Loaded(rows, statements, titles)


def exact(text: str | None) -> Fraction | None:
    """Return the exact number of a document; None for none.

    >>> exact("5/6"), exact(None)
    (Fraction(5, 6), None)
    """
    return None if text is None else Fraction(text)


def _standings(runs: list[uuid.UUID]) -> list[Standing]:
    light = Decision.objects.defer("document", "observations")
    attempts = Attempt.objects.order_by("-number").prefetch_related(Prefetch("decisions", light))
    enrolments = (
        Enrolment.objects.filter(run__in=runs)
        .exclude(state=Enrolment.State.WAITING)
        .order_by("run", "pk")
        .prefetch_related(Prefetch("attempts", attempts))
    )
    return [Standing(enrolment, list(enrolment.attempts.all())) for enrolment in enrolments]


def _decided(chosen: set[uuid.UUID]) -> dict[uuid.UUID, Decided]:
    """Return the parts of the documents; the rest of them stays in the database."""
    rows = (
        Decision.objects.filter(pk__in=chosen)
        .order_by()
        .values_list(
            "pk",
            "result",
            "attempt__standard",
            KeyTransform("overall", "document"),
            KeyTransform("outcomes", "document"),
            KeyTransform("criteria", "document"),
        )
    )
    return {
        pk: Decided(result, standard, exact(overall["score"]), outcomes, criteria)
        for pk, result, standard, overall, outcomes, criteria in rows
    }


def _standards(wanted: set[uuid.UUID]) -> tuple[Titles, Titles]:
    rows = (
        SealedStandard.objects.filter(pk__in=wanted)
        .order_by()
        .values_list(
            "pk", KeyTransform("outcomes", "document"), KeyTransform("criteria", "document")
        )
    )
    statements, titles = {}, {}
    for pk, outcomes, criteria in rows:
        statements[pk] = {each["key"]: each["statement"] for each in outcomes}
        titles[pk] = {each["key"]: each["title"] for each in criteria}
    return statements, titles
