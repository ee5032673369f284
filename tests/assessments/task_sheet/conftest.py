"""A lead, the dutchman program sealed, and a place on a run of it."""

import pytest

from assessments.models import SealedStandard
from tests.assessments.task_sheet.reading import shipped
from tests.factories import enrol, make_organisation, make_person, make_role, make_run
from training.models import Enrolment, Person, Role


@pytest.fixture
def lead() -> Person:
    return make_role(Role.Kind.LEAD, make_organisation())


@pytest.fixture
def sealed(lead: Person) -> SealedStandard:
    return shipped("dutchman", lead)


@pytest.fixture
def place(sealed: SealedStandard) -> Enrolment:
    """A trainee's place on a run of the program, which an instructor teaches."""
    teacher = make_role(Role.Kind.INSTRUCTOR, sealed.program.provider)
    return enrol(make_run(sealed.program, instructors=(teacher,)), make_person())
