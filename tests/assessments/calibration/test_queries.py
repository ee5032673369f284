"""Lists in a constant number of queries, and what waits on the first page."""

from datetime import timedelta

import pytest
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from assessments.actions.calibration import start_sitting
from assessments.queries.calibration.assessors import assessor_row, assessors_of
from assessments.queries.calibration.own import own_calibration
from assessments.queries.calibration.todo import NOTICE, calibration_to_do
from tests.assessments.builders import Yard, make_standard, make_yard
from tests.assessments.calibration.builders import (
    ask,
    authorised,
    finished_on,
    make_piece,
    sit,
    titles,
)
from tests.factories import make_program, make_role, make_run
from training.models import Person, Role
from training.queries.scope import roles_of
from training.queries.todo import todos_of

pytestmark = pytest.mark.django_db
INSTRUCTOR = frozenset({"instructor"})


def more_assessors(yard: Yard, number: int) -> list[Person]:
    """Let so many more instructors score everything there is, and authorise them."""
    people = []
    for _ in range(number):
        person = make_role(Role.Kind.INSTRUCTOR, yard.provider)
        yard.run.instructors.add(person)
        for standard in yard.program.standards.all():
            for piece in standard.reference_pieces.all():
                sit(person, piece)
        authorised(yard, person, timezone.localdate())
        people.append(person)
    return people


def test_assessors_at_one_row_and_at_three(
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    yard = make_yard()
    ask(yard)
    make_piece(yard)
    more_assessors(yard, 1)
    with django_assert_num_queries(8):
        assessors_of(yard.program)
    for name in ("B", "C"):
        make_piece(yard, name)
    people = more_assessors(yard, 2)
    with django_assert_num_queries(8):
        found = assessors_of(yard.program)
    rows = {row.person: row for row in found.rows}
    assert [len(rows[person].sat) for person in people] == [3, 3]
    assert rows[people[0]].may_sign
    with django_assert_num_queries(8):
        alone = assessor_row(yard.program, people[0])
    assert alone is not None
    assert alone.tally == rows[people[0]].tally


def test_own_calibration_at_one_row_and_at_three(
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    yard = make_yard()
    ask(yard)
    sit(yard.instructor, make_piece(yard))
    with django_assert_num_queries(9):
        own_calibration(yard.instructor)
    sit(yard.instructor, make_piece(yard, "B"))
    start_sitting(actor=yard.instructor, piece=make_piece(yard, "C"))
    for _ in range(2):
        program = make_program(yard.provider)
        make_run(program, instructors=(yard.instructor,))
        other = Yard(
            yard.provider,
            program,
            yard.lead,
            yard.instructor,
            yard.run,
            yard.trainee,
            yard.enrolment,
            make_standard(program),
        )
        ask(other)
        sit(yard.instructor, make_piece(other))
    with django_assert_num_queries(9):
        found = own_calibration(yard.instructor)
    assert sorted(len(own.sat) for own in found) == [1, 1, 2]
    (first,) = [own for own in found if own.program == yard.program]
    assert [(line.piece.title, bool(line.open), line.may_start) for line in first.pieces] == [
        ("B", False, False),
        ("C", True, True),
        ("Sill stone A", False, False),
    ]


def test_programs_of_others_are_not_told() -> None:
    yard, other = make_yard(), make_yard()
    ask(yard)
    make_piece(yard)
    assert not own_calibration(other.lead)
    assert not own_calibration(yard.trainee)
    assert [own.program for own in own_calibration(yard.lead)] == [yard.program]


def test_pieces_to_score_are_told(django_assert_num_queries: DjangoAssertNumQueries) -> None:
    yard = make_yard()
    with django_assert_num_queries(1):
        assert not list(calibration_to_do(yard.instructor, INSTRUCTOR))
    ask(yard, pieces=2, months=1)
    # Nothing to score yet, so nothing to do.
    assert not list(calibration_to_do(yard.instructor, INSTRUCTOR))
    pieces = [make_piece(yard, name) for name in "ABC"]
    with django_assert_num_queries(5):
        found = list(calibration_to_do(yard.instructor, INSTRUCTOR))
    assert titles(found) == ["Two reference pieces to score"]
    first = sit(yard.instructor, pieces[0])
    with django_assert_num_queries(5):
        found = list(calibration_to_do(yard.instructor, INSTRUCTOR))
    assert titles(found) == ["One reference piece to score"]
    sit(yard.instructor, pieces[1])
    assert not list(calibration_to_do(yard.instructor, INSTRUCTOR))
    finished_on(first, timezone.localdate() - timedelta(days=40))
    assert titles(calibration_to_do(yard.instructor, INSTRUCTOR)) == [
        "One reference piece to score"
    ]
    for person in (yard.trainee, make_yard().lead):
        assert not list(calibration_to_do(person, roles_of(person)))


@pytest.mark.parametrize(
    ("days", "told"), [(-1, 0), (0, 1), (NOTICE.days, 1), (NOTICE.days + 1, 0)]
)
def test_an_ending_authority_is_told_in_time(days: int, told: int) -> None:
    yard = make_yard()
    ask(yard)
    until = timezone.localdate() + timedelta(days=days)
    authorised(yard, yard.instructor, until)
    expected = [f"Your authority ends on {until:%d %b %Y}"] * told
    assert titles(calibration_to_do(yard.instructor, INSTRUCTOR)) == expected


def test_the_first_page_asks_this_source() -> None:
    yard = make_yard()
    ask(yard)
    make_piece(yard)
    told = titles(todos_of(yard.instructor, roles_of(yard.instructor)))
    assert "One reference piece to score" in told
