"""The road of a review: asked for, given, scored blind, answered; who may do what."""

from collections.abc import Callable
from datetime import datetime, timedelta
from functools import partial
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.core.exceptions import PermissionDenied

from assessments.actions.reviews import (
    answer_review,
    ask_review,
    finish_scoring,
    give_review,
    leave_rest,
    score_review,
    step_down,
    take_back_review,
)
from assessments.models import Attempt, Decision, Review
from assessments.queries.attempts import current_decision
from assessments.queries.reviews.reviewers import candidates
from assessments.queries.reviews.sheet import comparison, review_sheet
from tests.assessments.builders import GOOD, make_yard, score_all
from tests.assessments.reviews.builders import Decided, answered, asked, decided, given, scored
from tests.factories import make_role
from training.errors import Refused
from training.models import LogEntry, Role

pytestmark = pytest.mark.django_db


def refused(work: Callable[[], Any]) -> Refused:
    with pytest.raises(Refused) as caught:
        work()
    return caught.value


def test_only_the_trainee_asks_and_says_why() -> None:
    made = decided()
    with pytest.raises(PermissionDenied):
        ask_review(actor=made.yard.instructor, attempt=made.attempt, reason="x")
    assert refused(lambda: asked(made, reason="  ")).field == "reason"
    assert refused(lambda: asked(made, reason="x" * 2001)).field == "reason"
    review = asked(made)
    assert (review.state, review.decision) == ("asked", made.decision)
    assert LogEntry.objects.filter(verb="review.asked", subject_id=str(review.pk)).count() == 1
    assert "under way" in refused(lambda: asked(made)).message


def test_the_same_form_sent_twice_asks_once() -> None:
    made = decided()
    first = asked(made)
    assert asked(made, review_id=first.pk) == first
    assert Review.objects.count() == 1


def test_there_is_nothing_to_review_before_the_result() -> None:
    yard = make_yard()
    attempt = yard.attempt()
    score_all(attempt, yard.instructor)
    error = refused(lambda: ask_review(actor=yard.trainee, attempt=attempt, reason="x"))
    assert "no result yet" in error.message


def test_a_review_taken_back_can_be_asked_for_again() -> None:
    made = decided()
    review = given(made)
    with pytest.raises(PermissionDenied):
        take_back_review(actor=made.reviewer, review=review)
    assert take_back_review(actor=made.yard.trainee, review=review).state == "taken_back"
    assert (
        "over" in refused(lambda: take_back_review(actor=made.yard.trainee, review=review)).message
    )
    assert asked(made).state == "asked"


def test_a_lead_gives_it_to_somebody_independent() -> None:
    made = decided()
    review = asked(made)
    yard = made.yard
    outsider = make_role(Role.Kind.LEAD, make_yard().provider)
    for actor in (yard.instructor, yard.trainee, outsider):
        with pytest.raises(PermissionDenied):
            give_review(actor=actor, review=review, reviewer=made.reviewer)
    for reviewer in (yard.trainee, yard.instructor, outsider):
        error = refused(partial(give_review, actor=yard.lead, review=review, reviewer=reviewer))
        assert error.field == "reviewer"
    found = {each.person: each.why_not for each in candidates(review)}
    assert found[yard.instructor] == "Signed this attempt off."
    assert found[made.reviewer] == found[yard.lead] == ""
    assert yard.trainee not in found
    assert give_review(actor=yard.lead, review=review, reviewer=yard.lead).reviewer == yard.lead
    again = give_review(actor=yard.lead, review=review, reviewer=made.reviewer)
    assert (again.reviewer, again.state) == (made.reviewer, "given")


def test_a_trainee_who_leads_does_not_choose_the_reviewer() -> None:
    made = decided()
    Role.objects.create(
        person=made.yard.trainee, organisation=made.yard.provider, kind=Role.Kind.LEAD
    )
    review = asked(made)
    error = refused(
        lambda: give_review(actor=made.yard.trainee, review=review, reviewer=made.reviewer)
    )
    assert "another training lead" in error.message
    found = {each.person: each.why_not for each in candidates(review)}
    assert found[made.yard.trainee] == "Asked for this review."


def test_a_reviewer_hands_it_back_with_a_reason() -> None:
    made = decided()
    review = given(made)
    with pytest.raises(PermissionDenied):
        step_down(actor=made.yard.lead, review=review, reason="x")
    assert (
        refused(lambda: step_down(actor=made.reviewer, review=review, reason=" ")).field == "reason"
    )
    back = step_down(actor=made.reviewer, review=review, reason="My brother in law.")
    assert (back.state, back.reviewer) == ("asked", None)
    with pytest.raises(PermissionDenied):
        score_review(actor=made.reviewer, review=review, criterion="C1", value={"level": 1})


def test_scores_are_blind_whole_and_corrected_by_new_rows() -> None:
    made = decided()
    review = given(made)

    def score(key: str, value: Any, note: str = "") -> Any:
        return score_review(
            actor=made.reviewer, review=review, criterion=key, value=value, note=note
        )

    assert refused(lambda: score("C1", None)).field == "note"
    assert refused(lambda: score("C1", {"level": 9})).field == "value"
    assert refused(lambda: score("C1", {"cleared": True}))
    assert refused(lambda: score("nine", {"level": 1}))
    # What was read on the piece is taken as it is, or not at all.
    other = {"readings": [*GOOD["C2"]["readings"]][:1] * 2}  # type: ignore[misc]
    assert other != GOOD["C2"]
    assert refused(lambda: score("C2", other)).field == "value"
    assert score("C2", GOOD["C2"]).value == GOOD["C2"]
    first = score("C1", {"level": 1})
    second = score("C1", {"level": 2})
    assert second.replaces == first
    with pytest.raises(PermissionDenied):
        score_review(actor=made.yard.lead, review=review, criterion="C1", value={"level": 1})
    assert (
        "3 criteria" in refused(lambda: finish_scoring(actor=made.reviewer, review=review)).message
    )
    assert leave_rest(actor=made.reviewer, review=review, reason="No photograph.") == 3
    assert refused(lambda: leave_rest(actor=made.reviewer, review=review, reason="Again."))
    assert "first" in refused(lambda: _answer(made, review, "upheld")).message
    finish_scoring(actor=made.reviewer, review=review)
    assert "shown already" in refused(lambda: score("C1", {"level": 1})).message


def test_sent_again_a_score_is_stored_once() -> None:
    made = decided()
    review = given(made)
    sent: dict[str, Any] = {
        "actor": made.reviewer, "review": review, "criterion": "C1", "value": {"level": 1},
        "score_id": review.pk,
    }  # fmt: skip
    assert score_review(**sent) == score_review(**sent)
    assert review.scores.count() == 1


def test_upheld_leaves_the_decision_as_it_is() -> None:
    made = decided()
    review = answered(made, "upheld")
    assert (review.state, review.result) == ("answered", None)
    made.attempt.refresh_from_db()
    assert made.attempt.state == Attempt.State.DECIDED
    assert current_decision(made.attempt) == made.decision
    assert "looked at again already" in refused(lambda: asked(made)).message


def test_changed_decides_anew_with_the_reviewers_scores() -> None:
    made = decided(C3={"answer": False})
    assert made.decision.result == "not_yet_met"
    review = answered(made, "changed")
    result = review.result
    assert result is not None
    assert (result.result, result.decided_by, result.replaces) == (
        "met", made.reviewer, made.decision,
    )  # fmt: skip
    assert current_decision(made.attempt) == result
    by = {
        row["subject"]["key"]: row["assessor"]
        for row in result.observations["observations"]
        if row["subject"]["kind"] == "criterion"
    }
    assert set(by.values()) == {str(made.reviewer.pk)}
    hold = [r for r in result.observations["observations"] if r["subject"]["kind"] == "hold_point"]
    assert [row["assessor"] for row in hold] == [str(made.yard.instructor.pk)]
    # The decision that was reviewed is as it was.
    stored = Decision.objects.get(pk=made.decision.pk)
    assert (stored.result, stored.document) == ("not_yet_met", made.decision.document)
    # A decision of a review is not reviewed again.
    assert "done once" in refused(lambda: asked(made)).message


def test_changed_needs_a_result_that_can_stand() -> None:
    made = decided(C1=None, C3={"answer": False})
    assert made.decision.result == "incomplete"
    review = scored(made, C1=None, C3=None)
    error = refused(lambda: _answer(made, review, "changed"))
    assert (error.field, "can stand" in error.message) == ("outcome", True)
    review.refresh_from_db()
    assert review.state == "given"


def test_void_takes_the_attempt_out() -> None:
    made = decided()
    answered(made, "void")
    made.attempt.refresh_from_db()
    assert made.attempt.state == Attempt.State.VOID
    assert "void" in refused(lambda: asked(made)).message


def test_an_answer_has_an_outcome_reasons_and_a_signature() -> None:
    made = decided()
    review = scored(made)
    assert refused(lambda: _answer(made, review, "fine")).field == "outcome"
    assert refused(lambda: _answer(made, review, "upheld", answer="")).field == "answer"
    assert (
        refused(lambda: _answer(made, review, "upheld", password_checked=False)).field == "password"
    )
    with pytest.raises(PermissionDenied):
        _answer(made, review, "upheld", actor=made.yard.lead)
    made.reviewer.roles.all().delete()
    with pytest.raises(PermissionDenied):
        _answer(made, review, "upheld")


def test_what_follows_fails_together_with_the_answer(monkeypatch: pytest.MonkeyPatch) -> None:
    made = decided(C3={"answer": False})
    review = scored(made)

    def fail(review: Review, actor: object) -> None:
        assert review.outcome == "changed"
        assert actor == made.reviewer
        raise Refused("The record is being issued at this moment.")

    monkeypatch.setattr("assessments.reviewed._follows", [fail])
    assert refused(lambda: _answer(made, review, "changed"))
    review.refresh_from_db()
    assert review.state == "given"
    assert Decision.objects.count() == 1


def test_the_two_scorings_stand_side_by_side() -> None:
    made = decided(C3={"answer": False})
    review = scored(made, C1={"level": 1}, C4=None)
    found = comparison(review_sheet(review))
    words = {row.line.subject.key: row.word for row in found.rows}
    assert words == {
        "C1": "differs", "C2": "same", "C3": "differs", "C4": "not_shown", "C5": "same",
    }  # fmt: skip
    assert (found.differing, found.document["result"], found.decides) == (2, "met", True)
    assert found.rows[0].earlier[0].assessor == made.yard.instructor.full_name


@pytest.mark.parametrize(("days", "late"), [(10, False), (11, True)])
def test_the_term_counts_days_of_the_site(
    monkeypatch: pytest.MonkeyPatch, days: int, late: bool
) -> None:
    made = _with_term()
    zone = ZoneInfo(made.yard.run.site.time_zone)
    decided_on = made.decision.decided_at.astimezone(zone)
    last_minute = datetime.combine(
        decided_on.date() + timedelta(days=days), datetime.max.time(), tzinfo=zone
    )
    monkeypatch.setattr("django.utils.timezone.now", lambda: last_minute)
    if late:
        assert "ended on" in refused(lambda: asked(made)).message
        return
    review = asked(made)
    assert review.answer_by == last_minute.date() + timedelta(days=14)


def test_without_a_rule_there_is_no_term_and_thirty_days_to_answer() -> None:
    made = decided()
    zone = ZoneInfo(made.yard.run.site.time_zone)
    review = asked(made)
    assert review.answer_by == review.asked_at.astimezone(zone).date() + timedelta(days=30)


def _with_term() -> Decided:
    return decided(rules={"ask_within_days": 10, "answer_within_days": 14})


def _answer(made: Decided, review: Review, outcome: str, **changes: Any) -> Review:
    return answer_review(
        **{
            "actor": made.reviewer,
            "review": review,
            "outcome": outcome,
            "answer": "Seen on the photographs.",
            "password_checked": True,
            **changes,
        }
    )
