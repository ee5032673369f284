"""The e-mail that a result is there: once, after commit, in the reader's language, no result."""

import pytest
from django.core import mail
from django.db import transaction
from django.urls import reverse
from pytest_django import DjangoCaptureOnCommitCallbacks

from assessments.actions.decisions import sign_off
from tests.assessments.builders import make_yard, score_all
from training.errors import Refused

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("good", [True, False])
def test_the_trainee_is_told_once_after_commit_without_the_result(
    django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks, good: bool
) -> None:
    yard = make_yard()
    attempt = yard.attempt()
    score_all(attempt, yard.instructor, C3={"answer": good})
    with django_capture_on_commit_callbacks(execute=True):
        sign_off(actor=yard.instructor, attempt=attempt, password_checked=True, note="A secret.")
        assert mail.outbox == []
    (letter,) = mail.outbox
    assert letter.to == [yard.trainee.email]
    assert letter.subject == "Your result can be read"
    text = str(letter.body)
    assert reverse("attempt", args=[attempt.pk]) in text
    assert yard.program.title in text
    lines = (letter.subject + text).replace(yard.program.title, "").lower()
    for told in (" met", "not yet", "a secret", "passed", "failed"):
        assert told not in lines, told


def test_nobody_is_told_of_what_was_refused_or_undone(
    django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks,
) -> None:
    yard = make_yard()
    attempt = yard.attempt()
    with django_capture_on_commit_callbacks(execute=True):
        with pytest.raises(Refused):
            sign_off(actor=yard.instructor, attempt=attempt, password_checked=True)
        score_all(attempt, yard.instructor)
        with transaction.atomic():
            sign_off(actor=yard.instructor, attempt=attempt, password_checked=True)
            transaction.set_rollback(True)
    assert mail.outbox == []
