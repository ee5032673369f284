"""The page on which the records of a run are issued, and which shows how far each one is."""

import uuid
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from certificates.actions.issue_run import issue_run
from certificates.models import IssueItem
from certificates.queries.issuing import QUIET, issue_rows, progress_of
from tests.assessments.builders import Yard, make_yard
from tests.certificates.builders import decide_attempt, met_decision, record_row
from tests.certificates.jobs.builders import one_more
from tests.factories import enrol, make_person
from training.models import Person, Role

pytestmark = pytest.mark.django_db


@pytest.fixture
def yard() -> Yard:
    return make_yard()


def page(yard: Yard, person: Person | None = None) -> str:
    """Return the page as ``person`` sees it; as the lead, unless another is named."""
    response = signed_in(person or yard.lead).get(address(yard))
    assert response.status_code == 200
    return " ".join(response.content.decode().split())


def signed_in(person: Person) -> Client:
    """Return a browser in which ``person`` is signed in."""
    client = Client()
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    return client


def address(yard: Yard) -> str:
    """Return the address of the page."""
    return reverse("run_records", args=[yard.run.pk])


def row(found: str, person: Person) -> str:
    """Return the row of ``person`` in the page."""
    (after,) = found.split(f'<th scope="row">{person}</th>')[1:]
    return after.split("</tr>")[0]


def holder(decision: Any) -> Person:
    """Return whose decision it is."""
    person: Person = decision.attempt.enrolment.person
    return person


def test_it_says_who_gets_a_record_and_why_the_others_do_not(yard: Yard) -> None:
    ready = met_decision(yard)
    unmet = one_more(yard, met=False)
    nothing = make_person()
    enrol(yard.run, nothing)
    found = page(yard)
    assert "1 record can be issued." in found
    assert "Issue 1 record<" in found
    assert "Can be issued" in row(found, holder(ready))
    assert "only when the passing standard was met" in row(found, holder(unmet))
    assert "Nothing is decided yet" in row(found, nothing)
    assert 'data-progress="still"' in found


def test_issuing_puts_them_in_the_queue_and_shows_how_far_each_is(yard: Yard) -> None:
    first, second, third = met_decision(yard), one_more(yard), one_more(yard)
    response = signed_in(yard.lead).post(address(yard), follow=True)
    assert "3 records are in the queue" in response.content.decode()
    items = {item.decision_id: item for item in IssueItem.objects.all()}
    record = record_row(first)
    IssueItem.objects.filter(pk=items[first.pk].pk).update(state="issued", record=record)
    IssueItem.objects.filter(pk=items[second.pk].pk).update(state="working")
    found = page(yard)
    assert 'data-progress="running"' in found
    assert "1 of 3 done." in found
    assert '<progress max="3" value="1"' in found
    assert '<noscript><meta http-equiv="refresh"' in found
    assert record.number in row(found, holder(first))
    assert "Being made" in row(found, holder(second))
    assert "In the queue" in row(found, holder(third))
    assert "Nothing has moved" not in found
    assert '<button class="btn btn-primary">Issue' not in found
    IssueItem.objects.filter(pk=items[second.pk].pk).update(
        state="refused", sentence="The time-stamp authority does not answer."
    )
    assert "The time-stamp authority does not answer." in row(page(yard), holder(second))
    assert "Issue 1 record<" in page(yard)


def test_asking_for_nothing_says_so_and_writes_nothing(yard: Yard) -> None:
    response = signed_in(yard.lead).post(address(yard), follow=True)
    assert "No record of this run waits to be issued" in response.content.decode()
    assert not IssueItem.objects.exists()


def test_a_queue_in_which_nothing_moves_names_what_is_missing(yard: Yard) -> None:
    met_decision(yard)
    issue_run(actor=yard.lead, run=yard.run)
    rows = issue_rows(yard.run, yard.lead)
    now = timezone.now()
    assert not progress_of(rows, now + QUIET - timedelta(seconds=5)).quiet
    assert progress_of(rows, now + QUIET).quiet
    IssueItem.objects.update(changed_at=now - 2 * QUIET)
    assert "manage.py worker" in page(yard)


def test_when_all_have_a_record_nothing_is_left_to_ask_for(yard: Yard) -> None:
    record_row(met_decision(yard))
    found = page(yard)
    assert "Nothing is left to do." in found
    assert '<form method="post" action="/runs/' not in found


def test_the_own_record_and_a_void_attempt_say_why(yard: Yard) -> None:
    met_decision(yard)
    Role.objects.create(person=yard.trainee, organisation=yard.provider, kind=Role.Kind.LEAD)
    void = one_more(yard)
    type(void.attempt).objects.filter(pk=void.attempt_id).update(state="void")
    assert "Nobody issues the own record" in row(page(yard, yard.trainee), yard.trainee)
    assert "Nobody issues the own record" not in page(yard)
    assert "The attempt is void" in row(page(yard), holder(void))


def test_a_record_of_an_earlier_decision_is_not_the_one_that_counts(yard: Yard) -> None:
    first = met_decision(yard)
    record_row(first)
    decide_attempt(first.attempt, yard.instructor, replaces=first)
    assert "Can be issued" in row(page(yard), yard.trainee)


def test_the_instructor_of_the_run_sees_it_others_do_not(yard: Yard) -> None:
    assert "Records of this run" in page(yard, yard.instructor)
    for person in (yard.trainee, make_yard().lead, make_person()):
        assert signed_in(person).get(address(yard)).status_code == 404
        assert signed_in(person).post(address(yard)).status_code == 404
    gone = reverse("run_records", args=[uuid.uuid4()])
    assert signed_in(yard.lead).get(gone).status_code == 404


def test_one_row_and_three_take_as_many_queries(
    yard: Yard, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    record_row(met_decision(yard))
    with django_assert_num_queries(5):
        assert len(issue_rows(yard.run, yard.lead)) == 1
    one_more(yard)
    one_more(yard)
    issue_run(actor=yard.lead, run=yard.run)
    with django_assert_num_queries(5):
        assert [found.state for found in issue_rows(yard.run, yard.lead)].count("waiting") == 2
