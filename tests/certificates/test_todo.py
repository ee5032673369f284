"""Which records wait to be issued."""

from datetime import timedelta

import pytest
from pytest_django import DjangoAssertNumQueries

from assessments.models import Attempt
from certificates.queries.todo import records_to_issue, withdrawals_to_answer
from tests.assessments.builders import Yard, make_yard
from tests.certificates.builders import decide_attempt, met_decision, record_row
from tests.certificates.status.builders import answer, later, propose
from tests.factories import enrol, make_person, make_role
from training.dates import day_text
from training.models import Person, Role
from training.queries.scope import roles_of
from training.queries.todo import todos_of

pytestmark = pytest.mark.django_db


def titles(person: Person) -> list[str]:
    """Return what the person is told."""
    return [todo.title for todo in records_to_issue(person, roles_of(person))]


def another(yard: Yard) -> Attempt:
    """Start an attempt of one more trainee."""
    return Attempt.objects.create(
        enrolment=enrol(yard.run, make_person()),
        standard=yard.standard,
        number=1,
        started_by=yard.instructor,
    )


def test_a_lead_is_told_of_met_decisions_without_a_record(
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    yard = make_yard()
    assert titles(yard.lead) == []
    decision = met_decision(yard)
    decide_attempt(another(yard), yard.instructor)
    with django_assert_num_queries(1):
        found = list(records_to_issue(yard.lead, frozenset({"lead"})))
    assert [todo.title for todo in found] == ["Issue 2 records of Dutchman repair"]
    record_row(decision)
    assert titles(yard.lead) == ["Issue 1 record of Dutchman repair"]
    assert "Issue 1 record of Dutchman repair" in [
        todo.title for todo in todos_of(yard.lead, roles_of(yard.lead))
    ]
    for person in (yard.instructor, yard.trainee, make_yard().lead):
        assert titles(person) == []


def test_no_record_is_due_for_what_was_not_met_replaced_or_void() -> None:
    yard = make_yard()
    decide_attempt(another(yard), yard.instructor, C3={"answer": False})
    replaced = another(yard)
    first = decide_attempt(replaced, yard.instructor)
    decide_attempt(replaced, yard.instructor, replaces=first, C3={"answer": False})
    void = another(yard)
    decide_attempt(void, yard.instructor)
    Attempt.objects.filter(pk=void.pk).update(state="void")
    assert titles(yard.lead) == []


def test_a_lead_is_told_of_proposals_of_others(
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    yard = make_yard()
    second = make_role(Role.Kind.LEAD, yard.provider)
    record = record_row(met_decision(yard))
    proposal = propose(record, yard.lead)
    with django_assert_num_queries(1):
        (todo,) = withdrawals_to_answer(second, frozenset({"lead"}))
    assert todo.title == f"Confirm or decline: withdraw the record of {yard.trainee}"
    assert todo.url == f"/records/{record.number}/withdrawal/"
    for person in (yard.lead, yard.instructor, yard.trainee, make_yard().lead):
        assert list(withdrawals_to_answer(person, roles_of(person))) == []
    answer(proposal, second)
    assert list(withdrawals_to_answer(second, frozenset({"lead"}))) == []


def test_the_day_of_a_proposal_is_that_of_the_clocks_here() -> None:
    yard = make_yard()
    at = later(days=1).replace(hour=3)  # the evening before in New York, where the tests are
    propose(record_row(met_decision(yard)), yard.lead, at=at)
    (todo,) = withdrawals_to_answer(make_role(Role.Kind.LEAD, yard.provider), frozenset({"lead"}))
    assert f" on {day_text(at.date() - timedelta(days=1))}: " in todo.detail
