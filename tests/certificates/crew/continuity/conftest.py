"""A firm with one mason, whose record is kept by confirmations every six months."""

from dataclasses import dataclass
from datetime import UTC, date, datetime

import pytest

from certificates.actions.continuity import confirm_work
from certificates.models import Confirmation, Record
from certificates.queries.qualified import Held, held_by
from tests.certificates.crew.builders import course, crew_member, firm, record_for
from training.models import Organisation, Person, Program


@dataclass(frozen=True)
class Bench:
    """The firm, its manager, and the mason with the record."""

    firm: Organisation
    manager: Person
    mason: Person
    program: Program
    record: Record

    def sign(self, worked_on: date, **changes: object) -> Confirmation:
        """Let the manager confirm the record for ``worked_on``."""
        given: dict[str, object] = {
            "actor": self.manager,
            "record": self.record,
            "worked_on": worked_on,
            "project_name": "Old granary, east gable",
        }
        return confirm_work(**{**given, **changes})  # type: ignore[arg-type]

    def held(self) -> Held:
        """Return how the record stands."""
        (found,) = held_by([self.mason.pk])
        return found


def make_bench(
    issued_at: datetime = datetime(2026, 10, 1, 15, tzinfo=UTC),
    *,
    grace: int = 0,
    zone: str = "America/New_York",
    valid_until: date | None = None,
) -> Bench:
    """Return a bench whose record was issued at that moment."""
    organisation, manager = firm()
    program = course(continuity=(6, grace), zone=zone)
    mason = crew_member(organisation, "Aranka Felsőházi")
    record = record_for(mason, program, issued_at=issued_at, valid_until=valid_until)
    return Bench(organisation, manager, mason, program, record)


@pytest.fixture
def bench(db: None) -> Bench:
    """Return a bench with a record of 1 October 2026 and no grace."""
    return make_bench()
