"""Every road through a review, walked at random: it always goes on, and never breaks a rule."""

from collections.abc import Callable
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied
from django.db import transaction
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule

from assessments.actions.reviews import (
    answer_review,
    finish_scoring,
    give_review,
    leave_rest,
    score_review,
    step_down,
    take_back_review,
)
from assessments.models import Attempt, Decision, Review
from assessments.queries.attempts import current_decision
from assessments.queries.calibration.authority import site_day
from assessments.queries.reviews.reviewers import candidates
from assessments.queries.reviews.terms import why_not_ask
from tests.assessments.builders import GOOD
from tests.assessments.reviews.builders import asked, decided
from tests.factories import make_role
from training.errors import Refused
from training.models import Role

pytestmark = pytest.mark.django_db
WHO = ("trainee", "instructor", "lead", "reviewer", "other")
WHAT = ("give", "hand_back", "take_back", "score", "leave", "finish", "answer", "ask")


class Roads(RuleBasedStateMachine):
    """Anybody tries anything, in any order; the actions let through what is theirs."""

    def __init__(self) -> None:
        super().__init__()
        self.block = transaction.atomic()
        self.block.__enter__()
        self.made = decided(C3={"answer": False})
        yard = self.made.yard
        self.people = {
            "trainee": yard.trainee,
            "instructor": yard.instructor,
            "lead": yard.lead,
            "reviewer": self.made.reviewer,
            "other": make_role(Role.Kind.INSTRUCTOR, yard.provider),
        }
        self.ever_answered = 0

    def teardown(self) -> None:
        transaction.set_rollback(True)
        self.block.__exit__(None, None, None)

    @property
    def review(self) -> Review | None:
        return Review.objects.filter(attempt=self.made.attempt).order_by("-asked_at").first()

    def attempt_now(self) -> Attempt:
        return Attempt.objects.select_related("standard", "enrolment__run__site").get(
            pk=self.made.attempt.pk
        )

    def doing(self, what: str, who: Any, whom: Any, outcome: str, key: str) -> Callable[[], Any]:
        review = self.review
        about: dict[str, Any] = {"actor": who, "review": review}
        done: dict[str, Callable[[], Any]] = {
            "ask": lambda: asked(self.made),
            "give": lambda: give_review(**about, reviewer=whom),
            "hand_back": lambda: step_down(**about, reason="Too close."),
            "take_back": lambda: take_back_review(**about),
            "score": lambda: score_review(**about, criterion=key, value=GOOD[key]),
            "leave": lambda: leave_rest(**about, reason="No photograph."),
            "finish": lambda: finish_scoring(**about),
            "answer": lambda: answer_review(
                **about, outcome=outcome, answer="Seen.", password_checked=True
            ),
        }
        return done[what]

    @rule(
        what=st.sampled_from(WHAT),
        who=st.sampled_from(WHO),
        whom=st.sampled_from(WHO),
        outcome=st.sampled_from(Review.Outcome.values),
        key=st.sampled_from(sorted(GOOD)),
    )
    def anybody_tries(self, what: str, who: str, whom: str, outcome: str, key: str) -> None:
        if self.review is None and what != "ask":
            return
        work = self.doing(what, self.people[who], self.people[whom], outcome, key)
        self.let(work)

    @precondition(lambda self: self.review is not None and self.review.state in Review.UNDER_WAY)
    @rule(outcome=st.sampled_from(Review.Outcome.values))
    def it_goes_on(self, outcome: str) -> None:
        """Take the next step that leads to an answer: there always is one, for somebody."""
        review = self.review
        assert review is not None
        reviewer = review.reviewer
        if reviewer is None:
            able = [each.person for each in candidates(review) if not each.why_not]
            assert able
            give_review(actor=self.people["lead"], review=review, reviewer=able[0])
        elif review.scored_at is not None:
            answer_review(
                actor=reviewer, review=review, outcome=self.possible(outcome),
                answer="Seen.", password_checked=True,
            )  # fmt: skip
        elif review.scores.filter(by=reviewer, replaced_by=None).count() < len(GOOD):
            leave_rest(actor=reviewer, review=review, reason="No photograph.")
        else:
            finish_scoring(actor=reviewer, review=review)

    def possible(self, outcome: str) -> str:
        return outcome if outcome != Review.Outcome.CHANGED else Review.Outcome.UPHELD

    def let(self, work: Callable[[], Any]) -> None:
        try:
            with transaction.atomic():
                work()
        except (Refused, PermissionDenied):
            pass

    @invariant()
    def the_rules_hold(self) -> None:
        attempt = self.attempt_now()
        reviews = list(Review.objects.filter(attempt=attempt))
        decisions = list(attempt.decisions.all())
        kept = Decision.objects.get(pk=self.made.decision.pk)
        assert (kept.result, kept.document) == (self.made.decision.result, kept.document)
        assert sum(each.state in Review.UNDER_WAY for each in reviews) <= 1
        over = [each for each in reviews if each.state == Review.State.ANSWERED]
        assert len(over) <= 1
        assert len(decisions) == 1 + sum(each.outcome == "changed" for each in over)
        assert (attempt.state == Attempt.State.VOID) == any(e.outcome == "void" for e in over)
        for each in reviews:
            assert each.reviewer not in (self.people["trainee"], self.people["instructor"])
            assert each.answer or each.state != Review.State.ANSWERED
        # Answered is the end; else somebody can always do something.
        if not over and not any(each.state in Review.UNDER_WAY for each in reviews):
            today = site_day(attempt)
            assert why_not_ask(attempt, current_decision(attempt), today, reviews) == ""


def test_no_road_ends_before_the_answer() -> None:
    class Walk(Roads):
        pass

    Walk.TestCase.settings = settings(
        max_examples=8,
        stateful_step_count=14,
        deadline=None,
        suppress_health_check=list(HealthCheck),
    )
    case = Walk.TestCase("runTest")
    case.debug()
