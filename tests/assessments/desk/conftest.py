"""A provider with one small program that was loaded from its file."""

from dataclasses import dataclass

import pytest

from assessments.actions.programs import load_program
from tests.assessments.programfile.sources import SMALL
from tests.factories import enrol, make_organisation, make_person, make_role, make_run
from training.models import Organisation, Person, Program, Role


@dataclass(frozen=True)
class Desk:
    """A lead, an instructor and a trainee of one run, and the program of ``SMALL``."""

    provider: Organisation
    lead: Person
    instructor: Person
    trainee: Person
    program: Program


@pytest.fixture
def desk(db: None) -> Desk:
    """Return the desk."""
    provider = make_organisation()
    lead = make_role(Role.Kind.LEAD, provider)
    instructor = make_role(Role.Kind.INSTRUCTOR, provider)
    program = load_program(actor=lead, provider=provider, source=SMALL, filename="small.yaml")
    trainee = make_person()
    enrol(make_run(program, instructors=(instructor,)), trainee)
    return Desk(provider, lead, instructor, trainee, program)
