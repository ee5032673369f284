"""What a trainee may read of the own attempts."""

from dataclasses import dataclass

from assessments.models import Attempt, Decision
from assessments.queries.attempts import current_decision
from assessments.queries.past import Past, results
from training.models import Person


@dataclass(frozen=True)
class OwnAttempt:
    """An own attempt and, once it is decided, its decision."""

    attempt: Attempt
    decision: Decision | None

    @property
    def word(self) -> str:
        """The decision's result; ``open`` while there is none, ``void`` where it does not count."""
        if self.attempt.state == Attempt.State.VOID:
            return "void"
        return self.decision.result if self.decision else "open"


def own_attempts(person: Person) -> list[OwnAttempt]:
    """Return the attempts of ``person``, the latest first (three queries)."""
    attempts = (
        Attempt.objects.filter(enrolment__person=person)
        .select_related("enrolment__run__program", "enrolment__run__site")
        .prefetch_related(results(), "decisions__records")
        .order_by("-started_at")
    )
    return [OwnAttempt(attempt, current_decision(attempt)) for attempt in attempts]


def history(past: Past) -> list[OwnAttempt]:
    """Return every attempt of the same enrolment, the latest first."""
    return [OwnAttempt(found, current_decision(found)) for found in past.attempts]
