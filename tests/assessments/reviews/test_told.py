"""Who is told of a review, when, in which language; and what waits on the first page."""

from datetime import timedelta
from typing import Any

import pytest
from django.core import mail
from pytest_django import DjangoAssertNumQueries, DjangoCaptureOnCommitCallbacks

from assessments.actions.reviews import give_review, step_down, take_back_review
from assessments.queries.reviews.todo import reviews_answered, reviews_to_work_on
from tests.assessments.reviews.builders import answered, asked, decided, given
from tests.factories import make_role
from training.models import Person, Role
from training.queries.scope import roles_of

pytestmark = pytest.mark.django_db


def told() -> list[tuple[str, str]]:
    """Return (address, subject) of every e-mail since the last call, in order of address."""
    found = sorted((message.to[0], str(message.subject)) for message in mail.outbox)
    mail.outbox.clear()
    return found


def titles(person: Person) -> list[str]:
    roles = roles_of(person)
    return [
        each.title for source in (reviews_to_work_on, reviews_answered)
        for each in source(person, roles)
    ]  # fmt: skip


def test_each_side_is_told_once_after_commit(
    django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks,
) -> None:
    made = decided(C3={"answer": False})
    yard = made.yard
    lead = make_role(Role.Kind.LEAD, yard.provider)

    def commit(work: Any, *args: Any, **kwargs: Any) -> Any:
        with django_capture_on_commit_callbacks(execute=True) as callbacks:
            found = work(*args, **kwargs)
            assert not mail.outbox
        assert callbacks
        return found

    leads = [yard.lead, lead, *Person.objects.filter(pk=yard.standard.sealed_by_id)]
    review = commit(asked, made)
    assert told() == sorted(
        [(each.email, "A review is asked for") for each in leads]
        + [(yard.trainee.email, "You asked for a review")]
    )
    commit(give_review, actor=yard.lead, review=review, reviewer=lead)
    assert told() == [(lead.email, "Please look at a result again")]
    commit(give_review, actor=yard.lead, review=review, reviewer=made.reviewer)
    assert told() == sorted(
        [
            (lead.email, "A review is with somebody else now"),
            (made.reviewer.email, "Please look at a result again"),
        ]
    )
    commit(step_down, actor=made.reviewer, review=review, reason="My cousin.")
    assert "My cousin." in mail.outbox[0].body
    assert {subject for _, subject in told()} == {"A review was handed back"}
    commit(take_back_review, actor=yard.trainee, review=review)
    assert {subject for _, subject in told()} == {"A review was taken back"}
    commit(answered, made, "changed")
    letters = {message.to[0]: message for message in mail.outbox
               if "answered" in message.subject}  # fmt: skip
    assert set(letters) == {each.email for each in (*leads, yard.trainee, yard.instructor)}
    body = letters[yard.trainee.email].body
    assert "the passing standard of the program is met" in body
    assert "Seen on the photographs." in body
    assert f"/attempts/{made.attempt.pk}/" in body
    assert "certif" not in body.lower()
    assert len(mail.outbox) == len({(each.to[0], each.subject) for each in mail.outbox})


def test_the_first_page_leads_each_to_the_next_step(
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    made = decided()
    yard = made.yard
    review = asked(made)
    assert titles(yard.lead) == ["Choose a reviewer: Dutchman repair"]
    assert titles(yard.instructor) == titles(made.reviewer) == titles(yard.trainee) == []
    give_review(actor=yard.lead, review=review, reviewer=made.reviewer)
    assert titles(yard.lead) == []
    assert titles(made.reviewer) == ["Look at a result again: Dutchman repair"]
    with django_assert_num_queries(1):
        list(reviews_to_work_on(yard.lead, frozenset({"lead"})))


def test_what_is_late_is_told_to_the_lead_and_the_reviewer(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    made = decided()
    review = given(made)
    after = review.answer_by + timedelta(days=1)
    monkeypatch.setattr("assessments.queries.reviews.todo.site_day", lambda attempt: after)
    assert titles(made.yard.lead) == ["Overdue: review of Dutchman repair"]
    assert titles(made.reviewer) == ["Overdue: review of Dutchman repair"]


def test_the_trainee_is_led_to_the_outcome() -> None:
    made = decided()
    answered(made, "upheld")
    assert titles(made.yard.trainee) == ["Read the outcome of your review"]
    assert titles(made.reviewer) == []
