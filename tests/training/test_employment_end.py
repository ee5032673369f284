"""Ending an employment, by either side; the records go along with the person."""

from datetime import date, timedelta

import pytest
from django.core import mail
from django.core.exceptions import PermissionDenied
from django.utils import timezone
from pytest_django import DjangoCaptureOnCommitCallbacks

from tests.factories import make_role
from tests.training.yard import Yard
from training.actions.employment_end import end_employment, leave_employer
from training.errors import Refused
from training.models import Employment, LogEntry
from training.queries.scope import crew_visible_to


def in_days(number: int) -> date:
    """Return the day so many days from today."""
    return timezone.localdate() + timedelta(days=number)


def present(yard: Yard) -> Employment:
    """Return the employment of the trainee."""
    return Employment.objects.get(person=yard.trainee)


@pytest.mark.parametrize(("days", "seen"), [(-1, False), (0, True), (20, True)])
def test_the_view_ends_after_the_last_day(yard: Yard, days: int, seen: bool) -> None:
    end_employment(actor=yard.manager, employment=present(yard), until=in_days(days))
    assert crew_visible_to(yard.manager).exists() is seen
    entry = LogEntry.objects.get()
    assert (entry.verb, entry.data["until"]) == ("employment.ended", in_days(days).isoformat())


def test_the_person_leaves_and_the_managers_are_told(
    yard: Yard, django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks
) -> None:
    with django_capture_on_commit_callbacks(execute=True):
        leave_employer(actor=yard.trainee, employment=present(yard), until=in_days(-1))
    assert present(yard).until == in_days(-1)
    assert [message.to for message in mail.outbox] == [[yard.manager.email]]
    assert not crew_visible_to(yard.manager).exists()


def test_the_person_is_told_of_the_end(
    yard: Yard, django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks
) -> None:
    with django_capture_on_commit_callbacks(execute=True):
        end_employment(actor=yard.manager, employment=present(yard), until=in_days(5))
    (message,) = mail.outbox
    assert message.to == [yard.trainee.email]
    assert f"{in_days(5).day} {in_days(5):%B %Y}" in message.body


def test_only_the_own_manager_and_the_person_end_it(yard: Yard) -> None:
    rival = make_role("contractor", yard.other_firm)
    for actor in (rival, yard.lead, yard.trainee, yard.stranger):
        with pytest.raises(PermissionDenied):
            end_employment(actor=actor, employment=present(yard), until=in_days(0))
    for actor in (rival, yard.lead, yard.manager, yard.stranger):
        with pytest.raises(PermissionDenied):
            leave_employer(actor=actor, employment=present(yard), until=in_days(0))
    assert present(yard).until is None


@pytest.mark.parametrize("until", [date(2024, 2, 29), date(9999, 12, 31), None])
def test_a_last_day_that_cannot_be(yard: Yard, until: date | None) -> None:
    with pytest.raises(Refused) as refused:
        end_employment(actor=yard.manager, employment=present(yard), until=until)
    assert refused.value.field == "until"
    assert present(yard).until is None


def test_the_first_day_may_be_the_last(yard: Yard) -> None:
    end_employment(actor=yard.manager, employment=present(yard), until=date(2024, 3, 1))
    assert present(yard).until == date(2024, 3, 1)


def test_an_end_is_brought_forward_and_never_put_off(yard: Yard) -> None:
    end_employment(actor=yard.manager, employment=present(yard), until=in_days(20))
    for later in (20, 21):
        with pytest.raises(Refused, match="earlier day"):
            end_employment(actor=yard.manager, employment=present(yard), until=in_days(later))
    leave_employer(actor=yard.trainee, employment=present(yard), until=in_days(-2))
    with pytest.raises(Refused, match="ended on"):
        end_employment(actor=yard.manager, employment=present(yard), until=in_days(-3))


def test_what_has_not_begun_is_called_off(yard: Yard) -> None:
    Employment.objects.update(since=in_days(1))
    employment = present(yard)
    leave_employer(actor=yard.trainee, employment=employment, until=None)
    assert not Employment.objects.exists()
    with pytest.raises(Refused, match="called off"):
        end_employment(actor=yard.manager, employment=employment, until=None)
