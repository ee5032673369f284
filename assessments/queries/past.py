"""What the parts of a result's page ask of the same enrolment, read once for all of them."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Min, Prefetch, QuerySet, prefetch_related_objects

from assessments.models import Attempt, Decision, Retake, Review


@dataclass(frozen=True)
class MadeAgain:
    """A retake, with its attempt and the one it was made after, and when it was first decided."""

    retake: Retake
    decided: datetime | None


@dataclass(frozen=True)
class Past:
    """``attempts`` from the latest, each with its decisions, but without what these rest on.

    ``reviews`` from the newest, with their reviewers. ``retakes`` in the order of the attempts.
    """

    attempts: Sequence[Attempt]
    reviews: Sequence[Review]
    retakes: Sequence[MadeAgain]


def past_of(attempt: Attempt) -> Past:
    """Return the past of the enrolment, ``attempt`` itself in it (four queries at most)."""
    others = Attempt.objects.filter(enrolment=attempt.enrolment_id).exclude(pk=attempt.pk)
    attempts = sorted([attempt, *others], key=lambda each: -each.number)
    prefetch_related_objects(attempts, results())
    reviews = (
        Review.objects.filter(attempt__enrolment=attempt.enrolment_id)
        .select_related("reviewer")
        .order_by("-asked_at", "pk")
    )
    return Past(attempts, list(reviews), retakes_of(attempt) if attempts[1:] else [])


def results() -> "Prefetch[str, QuerySet[Decision], str]":
    """Return the prefetch of decisions without what they rest on: a list shows their results."""
    return Prefetch("decisions", Decision.objects.defer("document", "observations"))


def retakes_of(attempt: Attempt) -> list[MadeAgain]:
    """Return the retakes of the attempt's enrolment as ``Past`` has them (one query)."""
    rows = (
        Retake.objects.filter(attempt__enrolment=attempt.enrolment_id)
        .select_related("attempt", "of", "made_by")
        .annotate(decided=Min("attempt__decisions__decided_at"))
        .order_by("attempt__number")
    )
    return [MadeAgain(row, row.decided) for row in rows]
