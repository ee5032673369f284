"""A record that was issued for real, for the tests that need its file."""

from collections.abc import Iterator
from dataclasses import dataclass

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage

from assessments.models import Decision
from certificates.actions.issue import issue_record
from certificates.models import Record
from tests.assessments.builders import Yard, make_yard
from tests.certificates.builders import met_decision
from tests.plain import plain_records
from training.models import Program


@dataclass(frozen=True)
class Issued:
    """A yard whose trainee holds ``record``."""

    yard: Yard
    decision: Decision
    record: Record

    def store(self, pdf: bytes) -> None:
        """Put other bytes where the record's file is."""
        name = self.record.pdf.name or ""
        default_storage.delete(name)
        assert default_storage.save(name, ContentFile(pdf)) == name


PRINTED = ("pdf", "signing", "tamper", "check")


@pytest.fixture
def as_printed() -> None:
    """Ask for this where the test reads the pages of a record."""


@pytest.fixture(autouse=True)
def pages(request: pytest.FixtureRequest) -> Iterator[None]:
    """Leave the pages of records plain, but where they are what is tested."""
    if "as_printed" in request.fixturenames or request.path.parent.name in PRINTED:
        yield
        return
    with plain_records():
        yield


@pytest.fixture
def issued(db: None) -> Issued:
    """Return a yard whose trainee holds a record that is valid for three years."""
    yard = make_yard()
    Program.objects.filter(pk=yard.program.pk).update(
        validity_months=36, scope="Dutchman repairs up to 12 in by 8 in in sandstone."
    )
    decision = met_decision(yard)
    return Issued(yard, decision, issue_record(actor=yard.lead, decision=decision))


@pytest.fixture
def yard(db: None) -> Yard:
    """Return a yard whose trainee met the standard once ``decision`` is asked for."""
    return make_yard()


@pytest.fixture
def decision(yard: Yard) -> Decision:
    """Return the decision that the yard's trainee met the standard."""
    return met_decision(yard)
