"""Makers of decided attempts and of reviews at each stage; all invented."""

from dataclasses import dataclass
from typing import Any

from assessments.actions.decisions import sign_off
from assessments.actions.reviews import (
    answer_review,
    ask_review,
    finish_scoring,
    give_review,
    score_review,
)
from assessments.models import Attempt, Decision, Review
from tests.assessments.builders import GOOD, Yard, make_yard, score_all
from tests.factories import make_role
from training.models import Person, Role


@dataclass(frozen=True)
class Decided:
    """A yard with an attempt that the instructor scored and signed off, and somebody else."""

    yard: Yard
    attempt: Attempt
    decision: Decision
    reviewer: Person


def decided(rules: dict[str, int] | None = None, **values: Any) -> Decided:
    """Return an attempt signed off as met, but for changed ``values`` of the criteria.

    ``rules`` are those of the program for reviews (``about.review``).
    """
    yard = make_yard(**({"about": {"review": rules}} if rules else {}))
    attempt = yard.attempt()
    score_all(attempt, yard.instructor, **values)
    decision = sign_off(actor=yard.instructor, attempt=attempt, password_checked=True, note="-")
    attempt.refresh_from_db()
    reviewer = make_role(Role.Kind.INSTRUCTOR, yard.provider)
    return Decided(yard, attempt, decision, reviewer)


def asked(made: Decided, **changes: Any) -> Review:
    """Return a review that the trainee asked for."""
    return ask_review(
        actor=made.yard.trainee,
        attempt=made.attempt,
        **{"reason": "The joint was looked at in the rain.", **changes},
    )


def given(made: Decided) -> Review:
    """Return a review that a lead gave to the reviewer."""
    return give_review(actor=made.yard.lead, review=asked(made), reviewer=made.reviewer)


def scored(made: Decided, **values: Any) -> Review:
    """Return a review whose every criterion is scored as GOOD, but for ``values``; None: unseen."""
    review = given(made)
    for key, value in {**GOOD, **values}.items():
        score_review(
            actor=made.reviewer,
            review=review,
            criterion=key,
            value=value,
            note="" if value else "No photograph.",
        )
    return finish_scoring(actor=made.reviewer, review=review)


def answered(made: Decided, outcome: str, **values: Any) -> Review:
    """Return an answered review."""
    return answer_review(
        actor=made.reviewer,
        review=scored(made, **values),
        outcome=outcome,
        answer="Seen on the photographs.",
        password_checked=True,
    )
