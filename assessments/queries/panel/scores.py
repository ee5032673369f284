"""Overall scores of attempts, as a panel uses them: for the cut, or for its sense check."""

import uuid
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from assessments.engine.numbers import exact
from assessments.models import Decision, Panel, SealedStandard
from assessments.queries.panel.asked import RESULTS
from assessments.queries.program_document import program_document


@dataclass(frozen=True)
class Scored:
    """An attempt's overall score, from its current decision: an exact share from 0 to 1 as text.

    ``score`` is what is sure; a measurement within its guard band may leave more possible.
    """

    attempt: uuid.UUID
    score: str

    @property
    def share(self) -> float:
        """The score as a floating number, for the analyses."""
        return float(exact(self.score))


def scores_of(attempts: Iterable[uuid.UUID]) -> list[Scored]:
    """Return the scores of those of ``attempts`` that have one, by id (one query)."""
    current = Decision.objects.filter(attempt__in=list(attempts), replaced_by__isnull=True)
    return _scored(current)


def earlier_scores(panel: Panel) -> list[Scored]:
    """Return the scores of attempts decided before on the same criteria (at most ten queries).

    They are those of this program, in any version, under a sealed standard whose criteria have
    the same keys and weights as the ones judged: only then an overall score means the same.
    Attempts that were decided after the panel was made are left out.
    """
    program = panel.program
    sealed = SealedStandard.objects.filter(
        program__provider=program.provider_id, program__code=program.code
    )
    wanted = _weights(program_document(program)["task"]["criteria"])
    alike = [
        pk
        for pk, criteria in sealed.values_list("pk", "document__criteria")
        if _weights(criteria) == wanted
    ]
    current = Decision.objects.filter(
        attempt__standard__in=alike,
        replaced_by__isnull=True,
        result__in=RESULTS,
        decided_at__lte=panel.made_at,
    )
    return _scored(current)


def _scored(decisions: Any) -> list[Scored]:
    rows = decisions.order_by("attempt").values_list("attempt", "document__overall__score")
    return [Scored(pk, score) for pk, score in rows if score is not None]


def _weights(criteria: Iterable[dict[str, Any]]) -> dict[str, Any]:
    return {row["key"]: exact(row["weight"]) for row in criteria}
