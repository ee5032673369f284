"""A tower with two posts and a crew of three; all invented."""

from dataclasses import dataclass
from datetime import UTC, date, datetime

from certificates.models import Post, Project, Record
from tests.certificates.crew.builders import course, crew_member, firm, record_for
from tests.certificates.crew.coverage.builders import post_on, project_for
from tests.factories import make_organisation, make_role
from training.models import Organisation, Person, Program, Role

NOON = datetime(2027, 1, 15, 17, 0, tzinfo=UTC)  # noon in New York
TODAY = date(2027, 1, 15)


@dataclass(frozen=True)
class Tower:
    """A project that began in January 2027; post A has two places and a lead, post B has one.

    ``able`` has the record for both posts and to lead, ``other`` the one for both posts, ``hand``
    none.
    """

    contractor: Organisation
    manager: Person
    owner: Person
    program: Program
    leading: Program
    project: Project
    a: Post
    b: Post
    able: Person
    other: Person
    hand: Person
    record: Record


def tower(zone: str = "America/New_York") -> Tower:
    """Return the tower, with the project in ``zone``."""
    contractor, manager = firm()
    house = make_organisation(Organisation.Kind.OWNER)
    program, leading = course(), course()
    project = project_for(contractor, starts_on=date(2027, 1, 4), days=365, zone=zone, owner=house)
    able, other, hand = (
        crew_member(contractor, name)
        for name in ("Abelard Rooke", "Bettina Okonjo", "Casimir Thwaite")
    )
    record = record_for(able, program)
    record_for(able, leading)
    record_for(other, program)
    return Tower(
        contractor,
        manager,
        make_role(Role.Kind.OWNER, house),
        program,
        leading,
        project,
        post_on(project, program, "A", places=2, lead=leading),
        post_on(project, program, "B"),
        able,
        other,
        hand,
        record,
    )
