"""A project of which everything was submitted; all invented."""

import hashlib
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

from certificates.models import Post, Project, Record, Submittal, SubmittedRecord
from certificates.queries.submittals import statement_now
from certificates.submittal import finished
from tests.certificates.crew.builders import course, crew_member, firm, record_for
from tests.certificates.crew.coverage.builders import post_on, project_for
from tests.factories import make_organisation, make_role
from training.digests import digest
from training.models import Organisation, Person, Program, Role

NOON = datetime(2027, 1, 15, 17, 0, tzinfo=UTC)  # noon in New York
TODAY = date(2027, 1, 15)
VALID_UNTIL = date(2027, 12, 31)


@dataclass
class Chapel:
    """Post A has one place, which Ana fills, and a lead, Cleo; post B, from March on, has Ben.

    Nobody else can: each has a record of another program. ``records`` go by the holder's name.
    """

    contractor: Organisation
    manager: Person
    owner: Person
    programs: list[Program]
    project: Project
    a: Post
    b: Post
    ana: Person
    ben: Person
    cleo: Person
    records: dict[str, Record]

    def submit(self, number: int = 1) -> Submittal:
        """Return a submittal of how it stands now, with a file that nobody signed."""
        statement = statement_now(self.project, now=NOON)
        document = finished(
            statement,
            number=number,
            by=self.manager.full_name,
            at=NOON,
            met_by={gap.key: "A mason is assessed in May." for gap in statement.gaps},
        )
        made = Submittal.objects.create(
            project=self.project,
            number=number,
            document=document,
            digest=digest(document),
            pdf=f"submittals/{number}.pdf",
            pdf_sha256=hashlib.sha256(digest(document).encode()).hexdigest(),
            certificate_sha256="0" * 64,
            submitted_by=self.manager,
            submitted_at=NOON,
        )
        SubmittedRecord.objects.bulk_create(
            SubmittedRecord(submittal=made, record_id=pk) for pk in statement.records
        )
        return made


def chapel(zone: str = "America/New_York") -> Chapel:
    """Return the project, with nothing submitted yet."""
    contractor, manager = firm()
    house = make_organisation(Organisation.Kind.OWNER)
    setting, pointing, leading = course(continuity=(6, 30)), course(), course()
    project = project_for(contractor, starts_on=date(2027, 1, 4), days=330, zone=zone, owner=house)
    ana, ben, cleo = (
        crew_member(contractor, name) for name in ("Ana Sorley", "Ben Achterberg", "Cleo Varnham")
    )
    rows = [(ana, setting), (ben, pointing), (cleo, setting), (cleo, leading)]
    made = [record_for(who, what, valid_until=VALID_UNTIL) for who, what in rows]
    return Chapel(
        contractor,
        manager,
        make_role(Role.Kind.OWNER, house),
        [setting, pointing, leading],
        project,
        post_on(project, setting, "A", lead=leading, conditions={"position": "sill"}),
        post_on(project, pointing, "B", starts_on=date(2027, 3, 1)),
        ana,
        ben,
        cleo,
        {"Ana": made[0], "Ben": made[1], "Cleo": made[2], "Cleo leads": made[3]},
    )


def later(days: int) -> datetime:
    """Return noon in New York so many days after the submittal."""
    return NOON + timedelta(days=days)
