"""Who sees what of the training side."""

from datetime import timedelta

import pytest
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from tests.factories import make_role
from tests.training.yard import Yard
from training.models import Employment, Role
from training.queries import scope

# Runs, number of programs, number of enrolments.
SEES: dict[str, tuple[set[str], int, int]] = {
    "lead": ({"run", "other_run"}, 2, 1),
    "teacher": ({"run"}, 1, 1),
    "other_teacher": ({"other_run"}, 1, 0),
    "trainee": (set(), 1, 1),
    "manager": (set(), 0, 0),
    "stranger": (set(), 0, 0),
}


@pytest.mark.parametrize("who", SEES)
def test_everyone_sees_what_is_theirs(yard: Yard, other_yard: Yard, who: str) -> None:
    person = getattr(yard, who)
    runs, programs, enrolments = SEES[who]
    assert set(scope.runs_visible_to(person)) == {getattr(yard, name) for name in runs}
    assert scope.programs_visible_to(person).count() == programs
    assert not scope.programs_visible_to(person).filter(provider=other_yard.provider).exists()
    assert list(scope.enrolments_visible_to(person)) == [yard.enrolment][:enrolments]


def test_a_getter_is_one_query(
    yard: Yard, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    with django_assert_num_queries(5):
        assert len(scope.runs_visible_to(yard.lead)) == 2
        assert len(scope.programs_visible_to(yard.lead)) == 2
        assert len(scope.enrolments_visible_to(yard.lead)) == 1
        assert len(scope.crew_visible_to(yard.manager)) == 1
        assert len(scope.people_visible_to(yard.lead)) == 5


def test_a_run_taught_and_led_is_listed_once(yard: Yard) -> None:
    Role.objects.create(person=yard.lead, organisation=yard.provider, kind="instructor")
    yard.run.instructors.add(yard.lead)
    assert scope.runs_visible_to(yard.lead).filter(pk=yard.run.pk).count() == 1
    assert scope.programs_visible_to(yard.lead).filter(pk=yard.program.pk).count() == 1


def test_an_instructor_whose_role_was_taken_sees_the_run_no_longer(yard: Yard) -> None:
    Role.objects.filter(person=yard.teacher).delete()
    assert not scope.runs_visible_to(yard.teacher).exists()
    assert not scope.enrolments_visible_to(yard.teacher).exists()


def test_roles(yard: Yard, django_assert_num_queries: DjangoAssertNumQueries) -> None:
    with django_assert_num_queries(4):
        assert scope.roles_of(yard.lead) == {"lead"}
        assert scope.roles_of(yard.manager) == {"contractor"}
        assert scope.roles_of(yard.trainee) == {"trainee"}
        assert scope.roles_of(yard.stranger) == set()


def test_lead_and_instructor_are_of_one_organisation(yard: Yard, other_yard: Yard) -> None:
    assert scope.is_lead(yard.lead, yard.provider)
    assert not scope.is_lead(yard.lead, other_yard.provider)
    assert not scope.is_lead(yard.teacher, yard.provider)
    assert scope.is_instructor(yard.teacher, yard.provider)
    assert not scope.is_instructor(yard.teacher, other_yard.provider)
    assert list(scope.contractor_organisations(yard.manager)) == [yard.firm]
    assert not scope.contractor_organisations(yard.lead).exists()


@pytest.mark.parametrize(
    ("since", "until", "seen"),
    [(-9, None, True), (-9, 0, True), (-9, -1, False), (1, None, False), (0, None, True)],
)
def test_a_manager_sees_who_is_employed_today(
    yard: Yard, since: int, until: int | None, seen: bool
) -> None:
    today = timezone.localdate()
    Employment.objects.all().delete()
    Employment.objects.create(
        person=yard.trainee,
        organisation=yard.firm,
        since=today + timedelta(since),
        until=None if until is None else today + timedelta(until),
    )
    assert list(scope.crew_visible_to(yard.manager)) == [yard.trainee] * seen
    assert not scope.crew_visible_to(make_role("contractor", yard.other_firm)).exists()
    assert not scope.crew_visible_to(yard.lead).exists()


def test_a_lead_looks_after_own_people_and_managers(yard: Yard, other_yard: Yard) -> None:
    people = set(scope.people_visible_to(yard.lead))
    assert {yard.lead, yard.teacher, yard.trainee, yard.manager, other_yard.manager} <= people
    assert not people & {other_yard.lead, other_yard.teacher, other_yard.trainee, yard.stranger}
    for person in (yard.teacher, yard.manager, yard.trainee, yard.stranger):
        assert not scope.people_visible_to(person).exists()
