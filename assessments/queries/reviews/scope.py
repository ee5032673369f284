"""Who sees which review; what is under way of an attempt.

- The trainee sees the own ones, a lead those of the own provider.
- A reviewer sees what was given to them, while it is theirs.
- Who assesses the run reads a review once it is answered, never before.
"""

from collections.abc import Iterable

from django.db.models import Case, F, IntegerField, Q, QuerySet, Value, When

from assessments.models import Attempt, Review
from assessments.queries.scope import attempts_assessable_by
from training.models import Person, Role
from training.queries.scope import provider_organisations

PARTS = (
    "attempt__standard",
    "attempt__enrolment__person",
    "attempt__enrolment__run__program__provider",
    "attempt__enrolment__run__site",
    "decision__decided_by",
    "reviewer",
    "asked_by",
)
PROVIDER = "attempt__enrolment__run__program__provider"
STAFF = (Role.Kind.LEAD, Role.Kind.INSTRUCTOR)


def reviews_visible_to(person: Person) -> QuerySet[Review]:
    """Return the reviews that ``person`` may know of, with their parts."""
    answered = Q(state=Review.State.ANSWERED, attempt__in=attempts_assessable_by(person).order_by())
    return Review.objects.filter(
        Q(asked_by=person) | Q(reviewer=person) | led_by(person) | answered
    ).select_related(*PARTS)


def led_by(person: Person) -> Q:
    """Return the condition of a review at a provider that ``person`` leads."""
    return Q(**{f"{PROVIDER}__in": provider_organisations(person).order_by()})


def listed(person: Person) -> QuerySet[Review]:
    """Return the visible reviews: those under way first, the earliest due at the top."""
    over = Case(
        When(state__in=Review.UNDER_WAY, then=Value(0)),
        default=Value(1),
        output_field=IntegerField(),
    )
    return (
        reviews_visible_to(person)
        .defer("attempt__standard__document", "decision__document", "decision__observations")
        .annotate(over=over)
        .order_by("over", Case(When(over=0, then=F("answer_by"))), "-asked_at", "pk")
    )


def may_review(person: Person, review: Review) -> bool:
    """Say whether ``person`` leads or teaches for the provider of the review (one query)."""
    provider = review.attempt.enrolment.run.program.provider_id
    return Role.objects.filter(person=person, organisation=provider, kind__in=STAFF).exists()


def blind_review(person: Person, attempt: Attempt, reviews: Iterable[Review]) -> Review | None:
    """Return the one of ``reviews`` in which ``person`` still scores this attempt blind.

    Until it is scored, that person is not shown the result.
    """
    own = (each for each in reviews if each.attempt_id == attempt.pk)
    given = (each for each in own if each.reviewer_id == person.pk)
    unscored = (each for each in given if each.scored_at is None)
    return next((each for each in unscored if each.state == Review.State.GIVEN), None)
