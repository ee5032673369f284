"""A yard with two leads and a record in the register."""

from dataclasses import dataclass

import pytest

from certificates.models import Record
from tests.assessments.builders import Yard, make_yard
from tests.certificates.builders import met_decision, record_row
from tests.factories import make_role
from training.models import Person, Role


@dataclass(frozen=True)
class Office:
    """A yard, its second lead, and a record that nobody signed."""

    yard: Yard
    second: Person
    record: Record

    @property
    def lead(self) -> Person:
        """The first lead."""
        return self.yard.lead


@pytest.fixture
def office(db: None) -> Office:
    """Return a yard whose trainee holds a record, and who leads it."""
    yard = make_yard()
    second = make_role(Role.Kind.LEAD, yard.provider)
    return Office(yard, second, record_row(met_decision(yard)))
