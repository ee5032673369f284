"""Small makers of people, programs and runs for the tests; all names are invented."""

import itertools
from datetime import date

from training.models import CourseRun, Enrolment, Organisation, Person, Program, Role, Site

PASSWORD = "chalk line and plumb bob"
_counter = itertools.count(1)


def make_organisation(
    kind: str = Organisation.Kind.PROVIDER, name: str | None = None
) -> Organisation:
    """Return a saved organisation with a name of its own."""
    return Organisation.objects.create(kind=kind, name=name or f"Yard {next(_counter)}")


def make_person(name: str | None = None, *, email: str | None = None) -> Person:
    """Return a saved person who signs in with PASSWORD."""
    number = next(_counter)
    return Person.objects.create_user(
        email or f"person{number}@example.org", name or f"Mason {number}", PASSWORD
    )


def make_role(kind: str, organisation: Organisation, name: str | None = None) -> Person:
    """Return a new person with a role (lead, instructor, contractor) at ``organisation``."""
    person = make_person(name)
    Role.objects.create(person=person, organisation=organisation, kind=kind)
    return person


def make_program(provider: Organisation, **fields: object) -> Program:
    """Return a saved program without parts."""
    values: dict[str, object] = {
        "code": f"P-{next(_counter)}",
        "title": "Dutchman repair",
        "unit": "in",
    }
    return Program.objects.create(provider=provider, **{**values, **fields})


def make_run(
    program: Program, *, instructors: tuple[Person, ...] = (), **fields: object
) -> CourseRun:
    """Return a saved open run of ``program`` on a site of its own."""
    site = Site.objects.create(
        provider=program.provider, name=f"Site {next(_counter)}", time_zone="America/New_York"
    )
    values: dict[str, object] = {
        "starts_on": date(2026, 11, 2),
        "ends_on": date(2026, 11, 6),
        "state": CourseRun.State.OPEN,
    }
    run = CourseRun.objects.create(program=program, site=site, **{**values, **fields})
    run.instructors.set(instructors)
    return run


def enrol(run: CourseRun, person: Person, employer: Organisation | None = None) -> Enrolment:
    """Return a saved enrolment."""
    return Enrolment.objects.create(run=run, person=person, employer=employer)
