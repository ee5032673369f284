"""What the pages about reviews share."""

import uuid

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest
from django.shortcuts import get_object_or_404

from assessments.models import Review
from assessments.queries.reviews.scope import may_review, reviews_visible_to
from training.models import Person
from training.queries.scope import is_lead
from training.views.who import person_of


def visible_review(request: HttpRequest, pk: uuid.UUID) -> tuple[Person, Review]:
    """Return who asks, and the review with its parts; Http404 when it is not visible to them."""
    person = person_of(request)
    return person, get_object_or_404(reviews_visible_to(person), pk=pk)


def own_work(request: HttpRequest, pk: uuid.UUID) -> tuple[Person, Review]:
    """Return the reviewer and the review that is theirs; PermissionDenied for anybody else."""
    person, review = visible_review(request, pk)
    if not works_on(person, review) or not may_review(person, review):
        raise PermissionDenied("Only who has a review works on it.")
    return person, review


def works_on(person: Person, review: Review) -> bool:
    """Say whether the review is with ``person`` and not answered yet."""
    return review.reviewer_id == person.pk and review.state == Review.State.GIVEN


def leads_review(person: Person, review: Review) -> bool:
    """Say whether ``person`` leads at the review's provider (one query)."""
    return is_lead(person, review.attempt.enrolment.run.program.provider)


def form_id(request: HttpRequest, name: str) -> uuid.UUID:
    """Return the id that the form was shown with; a new one where none can be read."""
    try:
        return uuid.UUID(request.POST.get(name, ""))
    except ValueError:
        return uuid.uuid4()
