"""What waits to be done about standards and attempts."""

from collections.abc import Iterable

import pytest
from pytest_django import DjangoAssertNumQueries

from assessments.models import Attempt
from assessments.queries.todo import attempts_to_finish, standards_to_seal
from tests.assessments.builders import make_yard
from tests.factories import enrol, make_person, make_program
from training.queries.scope import roles_of
from training.queries.todo import Todo, todos_of

pytestmark = pytest.mark.django_db


def test_a_lead_is_told_of_programs_without_a_standard(
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    yard = make_yard()
    make_yard()
    for version in (1, 2):
        make_program(yard.provider, code="REPOINT", title="Repointing", version=version)
    make_program(yard.provider, code="RAKE-OUT", title="Raking out")
    with django_assert_num_queries(1):
        found = list(standards_to_seal(yard.lead, frozenset({"lead"})))
    assert {todo.detail.split(".")[0] for todo in found} == {
        "REPOINT, version 2",
        "RAKE-OUT, version 1",
    }
    assert not list(standards_to_seal(yard.instructor, roles_of(yard.instructor)))


def test_an_instructor_is_told_of_open_attempts(
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    yard = make_yard()
    first = yard.attempt()
    assert _titles(attempts_to_finish(yard.instructor, frozenset({"instructor"}))) == [
        "Finish 1 attempt at Dutchman repair"
    ]
    Attempt.objects.filter(pk=first.pk).update(state="decided")
    assert not list(attempts_to_finish(yard.instructor, frozenset({"instructor"})))
    yard.attempt()
    other = enrol(yard.run, make_person())
    Attempt.objects.create(
        enrolment=other, standard=yard.standard, number=1, started_by=yard.instructor
    )
    with django_assert_num_queries(1):
        found = _titles(attempts_to_finish(yard.instructor, frozenset({"instructor"})))
    assert found == ["Finish 2 attempts at Dutchman repair"]
    for person in (yard.lead, yard.trainee, make_yard().instructor):
        assert not list(attempts_to_finish(person, roles_of(person)))


def test_the_first_page_asks_these_sources() -> None:
    yard = make_yard()
    yard.attempt()
    titles = _titles(todos_of(yard.instructor, roles_of(yard.instructor)))
    assert "Finish 1 attempt at Dutchman repair" in titles
    make_program(yard.provider, title="Repointing")
    titles = _titles(todos_of(yard.lead, roles_of(yard.lead)))
    assert "Seal the passing standard of Repointing" in titles


def _titles(todos: Iterable[Todo]) -> list[str]:
    return [todo.title for todo in todos]
