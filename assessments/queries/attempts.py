"""The enrolments of a run beside what became of their attempts."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Exists, OuterRef, Prefetch, QuerySet

from assessments.engine.observations import SCHEMA
from assessments.models import Attempt, Decision, Observation
from training.models import CourseRun, Enrolment
from training.queries.fit import Applies, Missing, day_at, unfit


@dataclass(frozen=True)
class Standing:
    """An enrolment, its attempts from the latest, and the decision that counts now.

    ``scored_by`` are the ids of the people who scored something of the open attempt; ``missing``
    are the papers without which the practical task cannot start today.
    """

    enrolment: Enrolment
    attempts: Sequence[Attempt]
    scored_by: frozenset[int] = frozenset()
    missing: Sequence[Missing] = ()

    @property
    def latest(self) -> Attempt | None:
        """The attempt with the highest number."""
        return self.attempts[0] if self.attempts else None

    @property
    def open(self) -> Attempt | None:
        """The attempt that is being scored now."""
        latest = self.latest
        return latest if latest and latest.state == Attempt.State.OPEN else None

    @property
    def decision(self) -> Decision | None:
        """The decision of the latest decided attempt; met once stays met, void ones do not count.

        ``met_decisions`` says the same in SQL.
        """
        decided = [
            found
            for attempt in self.attempts
            if attempt.state != Attempt.State.VOID and (found := current_decision(attempt))
        ]
        met = [decision for decision in decided if decision.result == Decision.Result.MET]
        return next(iter(met or decided), None)

    @property
    def word(self) -> str:
        """met, not_yet_met, incomplete, open (none decided yet) or none (nothing that counts)."""
        if self.decision:
            return self.decision.result
        return "open" if self.open else "none"

    @property
    def may_start(self) -> bool:
        """Whether another attempt makes sense: enrolled, none open, not met yet."""
        enrolled = self.enrolment.state == Enrolment.State.ENROLLED
        return enrolled and self.open is None and self.word != Decision.Result.MET


def current_decision(attempt: Attempt) -> Decision | None:
    """Return the decision that nothing replaces; without a query on a prefetched attempt."""
    decisions = list(attempt.decisions.all())
    replaced = {decision.replaces_id for decision in decisions}
    return next((found for found in decisions if found.pk not in replaced), None)


def counting_decisions() -> QuerySet[Decision]:
    """Return the decisions that nothing replaces, of attempts that are not void."""
    return Decision.objects.filter(replaced_by__isnull=True, attempt__state=Attempt.State.DECIDED)


def met_decisions() -> QuerySet[Decision]:
    """Return of each enrolment that met the standard the decision by which it did.

    It is ``Standing.decision`` of these enrolments: one each, of the latest attempt that met it.
    """
    met = counting_decisions().filter(result=Decision.Result.MET)
    later = met.filter(
        attempt__enrolment=OuterRef("attempt__enrolment"),
        attempt__number__gt=OuterRef("attempt__number"),
    )
    return met.filter(~Exists(later))


def with_decisions() -> "Prefetch[str, QuerySet[Attempt], str]":
    """Return the prefetch of ``attempts`` from the latest, each with its decisions and records.

    ``records`` is what the app above hangs on a decision; only its name is used here.
    """
    decisions = Prefetch(
        "decisions",
        Decision.objects.defer("document", "observations").prefetch_related("records"),
    )
    return Prefetch("attempts", Attempt.objects.order_by("-number").prefetch_related(decisions))


def standings(run: CourseRun) -> list[Standing]:
    """Return every enrolment of the run with its standing, by name (seven queries at most)."""
    enrolments = list(
        run.enrolments.select_related("person", "employer")
        .order_by("person__full_name", "pk")
        .prefetch_related(with_decisions())
    )
    scored = Observation.objects.filter(
        attempt__enrolment__run=run,
        attempt__state=Attempt.State.OPEN,
        carried_from__isnull=True,
    ).order_by()
    assessors: dict[Any, set[int]] = {}
    for enrolment, assessor in scored.values_list("attempt__enrolment", "assessor").distinct():
        assessors.setdefault(enrolment, set()).add(assessor)
    missing = unfit(enrolments, run.program, day_at(run.site), Applies.PRACTICAL)
    return [
        Standing(
            enrolment,
            list(enrolment.attempts.all()),
            frozenset(assessors.get(enrolment.pk, ())),
            missing.get(enrolment.person_id, ()),
        )
        for enrolment in enrolments
    ]


def counts(rows: Sequence[Standing]) -> dict[str, int]:
    """Return how many enrolled trainees stand at each word, and ``enrolled`` for all of them."""
    enrolled = [row for row in rows if row.enrolment.state == Enrolment.State.ENROLLED]
    words = [row.word for row in enrolled]
    found = {word: words.count(word) for word in (*Decision.Result.values, "open", "none")}
    return {**found, "enrolled": len(enrolled)}


def observations_document(attempt: Attempt) -> dict[str, Any]:
    """Return every observation of the attempt as the engine reads them (one query)."""
    return document_of(attempt, attempt.observations.order_by("received_at", "seq", "pk"))


def document_of(attempt: Attempt, rows: Iterable[Observation]) -> dict[str, Any]:
    """Return ``rows``, all of the attempt in the order of arrival, as the engine reads them.

    Corrections stand beside what they replace (engine/FORMATS.md, "observations"); an
    assessor's id is the person's, as text.
    """
    return {
        "schema": SCHEMA,
        "attempt": str(attempt.pk),
        "observations": [
            {
                "id": str(row.pk),
                "subject": {"kind": row.subject_kind, "key": row.subject_key},
                "assessor": str(row.assessor_id),
                "value": row.value,
                "note": row.note,
                "replaces": str(row.replaces_id) if row.replaces_id else None,
            }
            for row in rows
        ],
    }
