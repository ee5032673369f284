"""What waits to be done about reviews, for the first page: what is overdue first."""

from collections.abc import Iterable
from datetime import timedelta

from django.db.models import Q
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from assessments.models import Review
from assessments.queries.calibration.authority import site_day
from assessments.queries.reviews.scope import led_by
from training.models import Person, Role
from training.queries.scope import TRAINEE
from training.queries.todo import Todo, todo_source

DAY = "j M Y"
PARTS = ("attempt__enrolment__run__program", "attempt__enrolment__run__site", "asked_by")
# How long the first page leads a trainee to the outcome.
SHOWN = timedelta(days=30)


@todo_source
def reviews_to_work_on(person: Person, roles: frozenset[str]) -> Iterable[Todo]:
    """Tell a reviewer what to score, a lead what to give and what is late (one query)."""
    if not roles & {Role.Kind.LEAD, Role.Kind.INSTRUCTOR}:
        return
    mine = Q(reviewer=person, state=Review.State.GIVEN)
    rows = Review.objects.filter(mine | (Q(state__in=Review.UNDER_WAY) & led_by(person)))
    for review in rows.select_related(*PARTS, "reviewer").order_by("answer_by", "asked_at", "pk"):
        late = review.answer_by < site_day(review.attempt)
        if review.reviewer_id == person.pk:
            yield _to_score(review, late)
        elif review.asked_by_id == person.pk:
            continue
        elif review.state == Review.State.ASKED:
            yield _to_give(review, late)
        elif late:
            yield _late(review)


@todo_source
def reviews_answered(person: Person, roles: frozenset[str]) -> Iterable[Todo]:
    """Lead a trainee to the outcome of an own review (one query)."""
    if TRAINEE not in roles:
        return
    rows = Review.objects.filter(
        asked_by=person,
        state=Review.State.ANSWERED,
        answered_at__gte=timezone.now() - SHOWN,
    )
    for review in rows.select_related(*PARTS).order_by("-answered_at"):
        yield Todo(
            _("Read the outcome of your review"),
            _("{title}, answered {day}.").format(
                title=review.attempt.enrolment.run.program.title,
                day=date_format(timezone.localtime(review.answered_at), DAY),
            ),
            reverse("review", args=[review.pk]),
            _("Read the outcome"),
        )


def _to_score(review: Review, late: bool) -> Todo:
    title = review.attempt.enrolment.run.program.title
    name = _("Overdue: review of {title}") if late else _("Look at a result again: {title}")
    return Todo(
        name.format(title=title),
        _("To be answered by {day}. Score it from the photographs and readings first.").format(
            day=_day(review)
        ),
        reverse("review", args=[review.pk]),
        _("Go on with the review"),
    )


def _to_give(review: Review, late: bool) -> Todo:
    title = review.attempt.enrolment.run.program.title
    name = _("Overdue: review of {title}") if late else _("Choose a reviewer: {title}")
    return Todo(
        name.format(title=title),
        _("{trainee} asks for a review. To be answered by {day}.").format(
            trainee=review.asked_by, day=_day(review)
        ),
        reverse("review_give", args=[review.pk]),
        _("Choose the reviewer"),
    )


def _late(review: Review) -> Todo:
    return Todo(
        _("Overdue: review of {title}").format(title=review.attempt.enrolment.run.program.title),
        _("It is with {name} and was to be answered by {day}.").format(
            name=review.reviewer, day=_day(review)
        ),
        reverse("review", args=[review.pk]),
        _("See the review"),
    )


def _day(review: Review) -> str:
    return date_format(review.answer_by, DAY)
