"""Makers of reviews that go past the actions, for tests of what follows an outcome."""

from datetime import timedelta
from typing import Any

from django.db import transaction
from django.utils import timezone

from assessments.models import Attempt, Decision, Review
from assessments.reviewed import call_all
from tests.certificates.builders import decide_attempt
from training.models import Person

ANSWER = "The photographs show an open joint at the back."


def answered(
    decision: Decision, reviewer: Person, outcome: str, answer: str = ANSWER, **values: Any
) -> Review:
    """Return a review of ``decision`` that was answered, with everything that follows it done.

    ``values`` replace what was observed of a criterion, for the new decision.
    """
    attempt = decision.attempt
    with transaction.atomic():
        review = Review.objects.create(
            attempt=attempt,
            decision=decision,
            asked_by=attempt.enrolment.person,
            reason="The joint was full.",
            answer_by=timezone.localdate() + timedelta(days=30),
        )
        review.state, review.reviewer, review.given_by = "given", reviewer, reviewer
        review.given_at = timezone.now()
        review.save()
        if outcome == Review.Outcome.CHANGED:
            review.result = decide_attempt(attempt, reviewer, replaces=decision, **values)
        review.state, review.outcome, review.answer = "answered", outcome, answer
        review.answered_at = timezone.now()
        review.save()
        if outcome == Review.Outcome.VOID:
            Attempt.objects.filter(pk=attempt.pk).update(state=Attempt.State.VOID)
        call_all(review, reviewer)
    return review
