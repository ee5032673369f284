"""What the database refuses of reviews on its own, whatever the code above it does."""

from typing import Any

import pytest
from django.db import connection
from django.utils import timezone

from assessments.models import Decision, Review, ReviewPhoto, ReviewScore
from tests.assessments.reviews.builders import answered, asked, decided, given, scored
from tests.assessments.test_guards import refused
from tests.factories import make_person
from training.models import Person

pytestmark = pytest.mark.django_db


def make(made: Any, **changes: Any) -> Review:
    values = {
        "attempt": made.attempt,
        "decision": made.decision,
        "asked_by": made.yard.trainee,
        "reason": "Look again.",
        "answer_by": "2026-12-24",
    }
    return Review.objects.create(**{**values, **changes})


def give(review: Review, reviewer: Person) -> None:
    Review.objects.filter(pk=review.pk).update(
        state="given", reviewer=reviewer, given_by=reviewer, given_at=timezone.now()
    )


def test_a_review_is_asked_for_by_the_trainee_about_the_current_decision() -> None:
    made, other = decided(), decided()
    lead = made.yard.lead
    assert refused(lambda: make(made, asked_by=lead)) == "review_asked_by_trainee"
    assert refused(lambda: make(made, decision=other.decision)) == "review_decision_of_attempt"
    assert refused(lambda: make(made, reason="")) == "review_reason_given"
    later = {"reviewer": made.reviewer, "given_by": lead, "given_at": timezone.now()}
    assert refused(lambda: make(made, state="given", **later)) == "review_begins_asked"
    make(made)
    assert refused(lambda: make(made)) in ("review_under_way_once", "review_of_decision_once")
    answered(other, "changed")
    assert refused(lambda: make(other)) == "review_of_current_decision"


def test_whoever_scored_decided_or_is_the_trainee_never_reviews() -> None:
    made = decided()
    review = make(made)
    yard = made.yard
    assert refused(lambda: give(review, yard.instructor)) == "review_independent"
    assert refused(lambda: give(review, yard.trainee)) in (
        "review_independent", "review_reviewer_is_another",
    )  # fmt: skip
    # Straight to the table, past every line of Python.
    with connection.cursor() as cursor:
        statement = (
            "UPDATE assessments_review SET state = 'given', reviewer_id = %s, given_by_id = %s, "
            "given_at = now() WHERE id = %s"
        )
        values: list[int | str] = [yard.instructor.pk, yard.lead.pk, str(review.pk)]
        assert refused(lambda: cursor.execute(statement, values)) == "review_independent"
    # One who signed an earlier decision of the chain, but scored nothing.
    signer = make_person()
    Decision.objects.create(
        attempt=made.attempt,
        standard_digest=made.decision.standard_digest,
        result="met",
        document={},
        observations={},
        engine_version="1.0",
        decided_by=signer,
        replaces=made.decision,
    )
    assert refused(lambda: give(review, signer)) == "review_independent"
    give(review, made.reviewer)


def test_a_review_keeps_its_course() -> None:
    made = decided()
    review = asked(made)
    rows = Review.objects.filter(pk=review.pk)
    whole = {"answer": "x", "answered_at": timezone.now(), "outcome": "upheld"}
    given_to = {"reviewer": made.reviewer, "given_by": made.yard.lead, "given_at": timezone.now()}
    assert refused(lambda: rows.update(state="answered", **whole, **given_to)) == "review_course"
    assert refused(lambda: rows.update(answer_by="2027-01-01")) == "review_fixed"
    assert refused(lambda: rows.update(reason="Another.")) == "review_fixed"
    assert refused(lambda: rows.update(state="lost")) in ("review_course", "review_state_known")
    assert refused(lambda: rows.update(state="given")) == "review_with_reviewer"
    assert refused(lambda: rows.update(reviewer=made.reviewer)) == "review_given_whole"
    assert refused(lambda: rows.update(**given_to)) == "review_without_reviewer"
    assert refused(lambda: rows.update(scored_at=timezone.now())) == "review_scored_by_reviewer"
    rows.update(state="given", **given_to)
    assert refused(lambda: rows.update(state="answered")) == "review_answered_whole"
    assert refused(lambda: rows.update(outcome="upheld")) == "review_answered_whole"
    changed = {**whole, "outcome": "changed"}
    name = refused(lambda: rows.update(state="answered", **changed))
    assert name == "review_changed_has_decision"
    name = refused(lambda: rows.update(state="answered", **{**whole, "outcome": "fine"}))
    assert name == "review_outcome_known"
    name = refused(lambda: rows.update(state="answered", **changed, result=made.decision))
    assert name == "review_result_of_reviewer"
    rows.update(state="answered", **whole)
    assert refused(lambda: rows.update(answer="y")) == "review_fixed"


def test_scores_are_the_reviewers_blind_and_stay() -> None:
    made = decided()
    review = given(made)

    def score(**changes: Any) -> ReviewScore:
        values = {"review": review, "criterion": "C1", "value": {"level": 1}, "by": made.reviewer}
        return ReviewScore.objects.create(**{**values, **changes})

    assert refused(lambda: score(by=made.yard.lead)) == "review_score_by_reviewer"
    assert refused(lambda: score(value=None)) == "review_score_seen_or_said_why"
    first = score()
    assert refused(score) == "review_score_first_once"
    assert refused(lambda: score(criterion="C3", replaces=first)) == "review_score_replaces_same"
    score(replaces=first)
    Review.objects.filter(pk=review.pk).update(scored_at=timezone.now())
    assert refused(lambda: score(criterion="C3")) == "review_scored_blind"


def test_nothing_is_scored_after_the_answer() -> None:
    made = decided()
    review = scored(made)
    Review.objects.filter(pk=review.pk).update(scored_at=None)
    rows = Review.objects.filter(pk=review.pk)
    rows.update(state="answered", answer="x", answered_at=timezone.now(), outcome="upheld")
    name = refused(
        lambda: ReviewScore.objects.create(
            review=review, criterion="C9", value={"level": 1}, by=made.reviewer
        )
    )
    assert name == "review_score_by_reviewer"


def test_a_photograph_is_kept_once_by_its_digest() -> None:
    review = asked(decided())
    assert refused(lambda: ReviewPhoto.objects.create(review=review, sha256="x")) == (
        "review_photo_digest_form"
    )
    ReviewPhoto.objects.create(review=review, sha256="0" * 64)
    name = refused(lambda: ReviewPhoto.objects.create(review=review, sha256="0" * 64))
    assert name == "review_photo_once"


@pytest.mark.parametrize("model", [Review, ReviewPhoto, ReviewScore])
def test_rows_stay(model: type[Any]) -> None:
    made = decided()
    review = given(made)
    ReviewPhoto.objects.create(review=review, sha256="0" * 64)
    ReviewScore.objects.create(review=review, criterion="C1", value={"level": 1}, by=made.reviewer)
    with connection.cursor() as cursor:
        statement = f"DELETE FROM {model._meta.db_table}"
        assert isinstance(refused(lambda: cursor.execute(statement)), str)
