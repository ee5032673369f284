"""Who sees what of the training side."""

from datetime import timedelta

import pytest
from django.db.models import QuerySet
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from tests.factories import make_role
from tests.training.yard import Yard
from training.models import Employment, Role
from training.queries import scope

SEES = {
    "lead": {"runs": {"run", "other_run"}, "programs": 2, "enrolments": 1},
    "teacher": {"runs": {"run"}, "programs": 1, "enrolments": 1},
    "other_teacher": {"runs": {"other_run"}, "programs": 1, "enrolments": 0},
    "trainee": {"runs": set(), "programs": 1, "enrolments": 1},
    "manager": {"runs": set(), "programs": 0, "enrolments": 0},
    "stranger": {"runs": set(), "programs": 0, "enrolments": 0},
}


@pytest.mark.parametrize("who", SEES)
def test_everyone_sees_what_is_theirs(yard: Yard, other_yard: Yard, who: str) -> None:
    person, expected = getattr(yard, who), SEES[who]
    assert set(scope.runs_visible_to(person)) == {getattr(yard, name) for name in expected["runs"]}  # type: ignore[union-attr]
    programs = scope.programs_visible_to(person)
    assert programs.count() == expected["programs"]
    assert not programs.filter(provider=other_yard.provider).exists()
    enrolments = scope.enrolments_visible_to(person)
    assert list(enrolments) == [yard.enrolment][: expected["enrolments"]]  # type: ignore[misc]


def test_a_getter_is_one_query(
    yard: Yard, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    getters: list[QuerySet[object]] = [
        scope.runs_visible_to(yard.lead),  # type: ignore[list-item]
        scope.programs_visible_to(yard.lead),  # type: ignore[list-item]
        scope.enrolments_visible_to(yard.lead),  # type: ignore[list-item]
        scope.crew_visible_to(yard.manager),  # type: ignore[list-item]
        scope.people_visible_to(yard.lead),  # type: ignore[list-item]
    ]
    with django_assert_num_queries(len(getters)):
        assert all(list(rows) for rows in getters)


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
