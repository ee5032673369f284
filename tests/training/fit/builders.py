"""Prerequisites and papers for the tests; all invented."""

from datetime import date

from training.actions.documents import keep_document
from training.models import HeldDocument, Organisation, Person, Program, ProgramPrerequisite
from training.scans import Scan


def ask_for(
    program: Program,
    key: str,
    *,
    title: str = "",
    applies: str = "practical",
    accepts: str = "The card",
) -> ProgramPrerequisite:
    """Return one more prerequisite of ``program``."""
    return ProgramPrerequisite.objects.create(
        program=program,
        position=program.prerequisites.count(),
        key=key,
        title=title or key.capitalize(),
        applies=applies,
        accepts=accepts,
        source="The yard's own rule",
    )


def keep(
    actor: Person,
    person: Person,
    provider: Organisation,
    kind: str,
    *,
    issued_on: date = date(2024, 1, 2),
    expires_on: date | None = None,
    scan: Scan | None = None,
) -> HeldDocument:
    """Return a paper of ``person`` that ``actor`` has seen."""
    return keep_document(
        actor=actor,
        person=person,
        provider=provider,
        kind=kind,
        title=f"Card of {kind}",
        issuer="Lime Street School",
        issued_on=issued_on,
        expires_on=expires_on,
        scan=scan,
    )
