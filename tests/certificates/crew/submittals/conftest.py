"""A project whose crew has records, some of them issued for real; all invented."""

import hashlib
from dataclasses import dataclass, field
from datetime import timedelta
from typing import Any

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.test import Client
from django.utils import timezone

from certificates.actions.submittals import submit
from certificates.models import Post, Project, Record, Submittal, SubmittedRecord
from certificates.queries.submittals import statement_now
from certificates.submittal import Statement, finished
from tests.certificates.crew.builders import course, crew_member, firm, record_for
from tests.factories import make_organisation, make_role
from training.digests import digest
from training.models import Employment, Organisation, Person, Program, Role

TODAY = timezone.localdate


@dataclass
class Works:
    """A project from tomorrow on with one post for two masons, whom one record covers."""

    contractor: Organisation
    manager: Person
    owner: Organisation
    representative: Person
    program: Program
    project: Project
    post: Post
    masons: list[Person] = field(default_factory=list)
    records: list[Record] = field(default_factory=list)

    def add_mason(self, name: str | None = None, **fields: Any) -> Record:
        """Employ a mason with a record that counts."""
        mason = crew_member(self.contractor, name)
        record = record_for(mason, self.program, **fields)
        self.masons.append(mason)
        self.records.append(record)
        return record

    def statement(self) -> Statement:
        """Return what would be submitted now."""
        return statement_now(self.project)

    def submit(self, text: str = "A third mason is assessed on Friday.") -> Submittal:
        """Submit with the same words for each gap."""
        statement = self.statement()
        words = {gap.key: text for gap in statement.gaps}
        return submit(actor=self.manager, project=self.project, seen=statement.seen, met_by=words)

    def leave(self, mason: Person) -> None:
        """Let a mason leave the contractor yesterday."""
        Employment.objects.filter(person=mason).update(until=TODAY() - timedelta(days=2))


@pytest.fixture
def works(db: None) -> Works:
    """Return a project that is covered but for one place."""
    contractor, manager = firm("Stray Ashlar Ltd")
    owner = make_organisation(Organisation.Kind.OWNER)
    program = course(validity_months=36)
    start = TODAY() + timedelta(days=1)
    project = Project.objects.create(
        contractor=contractor,
        owner=owner,
        name="North face of the library",
        place="1 Quarry Lane, Port Ellery",
        time_zone="America/New_York",
        starts_on=start,
        ends_on=start + timedelta(days=60),
        created_by=manager,
    )
    post = Post.objects.create(
        project=project,
        position=1,
        code="A",
        title="Sill stones",
        work="Cut out the old stone, and set dutchmen.",
        program=program,
        conditions={"position": "sill", "depth": {"from": "3", "to": "4", "unit": "in"}},
        places=2,
        starts_on=start,
        ends_on=project.ends_on,
    )
    representative = make_role(Role.Kind.OWNER, owner)
    made = Works(contractor, manager, owner, representative, program, project, post)
    made.add_mason("Ana Ruiz", valid_until=project.ends_on + timedelta(days=400))
    return made


def signed_in(person: Person) -> Client:
    """Return a browser in which ``person`` is signed in."""
    client = Client()
    client.force_login(person)
    return client


def row_of(works: Works, pdf: bytes = b"%PDF- signed by nobody", number: int = 1) -> Submittal:
    """Return a submittal with a file that nobody signed, for tests of pages and links."""
    statement = works.statement()
    document = finished(
        statement,
        number=number,
        by=works.manager.full_name,
        at=timezone.now(),
        met_by={gap.key: "By Friday." for gap in statement.gaps},
    )
    pdf += str(number).encode()
    made = Submittal.objects.create(
        project=works.project,
        number=number,
        document=document,
        digest=digest(document),
        pdf=default_storage.save(f"submittals/{works.project.pk}-{number}.pdf", ContentFile(pdf)),
        pdf_sha256=hashlib.sha256(pdf).hexdigest(),
        certificate_sha256="0" * 64,
        submitted_by=works.manager,
    )
    for pk in statement.records:
        SubmittedRecord.objects.create(submittal=made, record_id=pk)
    return made
