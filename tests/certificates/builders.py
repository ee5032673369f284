"""Makers of decisions and records for the tests; all invented."""

import hashlib
from datetime import UTC, date, datetime
from typing import Any

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage

from assessments.engine import decide
from assessments.models import Attempt, Decision
from certificates.models import Record
from certificates.numbers import new_number
from tests.assessments.builders import GOOD, Yard
from training.digests import digest
from training.models import Person

ISSUED = datetime(2026, 11, 10, 15, 0, tzinfo=UTC)


def observations_document(
    attempt: Attempt, assessor: Person, **values: dict[str, object]
) -> dict[str, Any]:
    """Return a whole sheet of good observations; ``values`` replace those of a criterion."""
    found = {**GOOD, **values}
    rows: list[tuple[str, str, dict[str, object]]] = [("hold_point", "fit", {"accepted": True})]
    rows += [("criterion", key, dict(value)) for key, value in found.items()]
    return {
        "schema": "bankermark/observations/1",
        "attempt": str(attempt.pk),
        "observations": [
            {
                "id": f"00000000-0000-4000-8000-{number:012}",
                "subject": {"kind": kind, "key": key},
                "assessor": str(assessor.pk),
                "value": value,
                "note": "",
                "replaces": None,
            }
            for number, (kind, key, value) in enumerate(rows)
        ],
    }


def decide_attempt(
    attempt: Attempt,
    assessor: Person,
    *,
    replaces: Decision | None = None,
    **values: dict[str, object],
) -> Decision:
    """Return the decision that the engine makes of good observations, signed off."""
    observations = observations_document(attempt, assessor, **values)
    document = decide(attempt.standard.document, observations)
    Attempt.objects.filter(pk=attempt.pk).update(state=Attempt.State.DECIDED)
    attempt.state = Attempt.State.DECIDED
    return Decision.objects.create(
        attempt=attempt,
        standard_digest=attempt.standard.digest,
        result=document["result"],
        document=document,
        observations=observations,
        engine_version=document["engine"],
        decided_by=assessor,
        replaces=replaces,
    )


def met_decision(yard: Yard) -> Decision:
    """Return a decision that the yard's trainee met the standard."""
    return decide_attempt(yard.attempt(), yard.instructor)


def record_row(
    decision: Decision,
    *,
    valid_until: date | None = None,
    issued_at: datetime = ISSUED,
    replaces: Record | None = None,
    **fields: object,
) -> Record:
    """Return the row of a record with a file that nobody signed, for tests of lists."""
    enrolment = decision.attempt.enrolment
    program = enrolment.run.program
    number = new_number()
    pdf = f"file of {number}".encode()
    document = {"number": number, "program": {"code": program.code, "title": program.title}}
    return Record.objects.create(
        **{
            "provider": program.provider,
            "serial": Record.objects.filter(provider=program.provider).count() + 1,
            "number": number,
            "decision": decision,
            "holder": enrolment.person,
            "document": document,
            "digest": digest(document),
            "pdf": default_storage.save(f"records/{number}.pdf", ContentFile(pdf)),
            "pdf_sha256": hashlib.sha256(pdf).hexdigest(),
            "certificate_sha256": "0" * 64,
            "issued_at": issued_at,
            "issued_by": decision.decided_by,
            "valid_until": valid_until,
            "replaces": replaces,
            **fields,
        }
    )


def file_of(record: Record) -> bytes:
    """Return the bytes of the record's file."""
    with default_storage.open(record.pdf.name or "", "rb") as file:
        found: bytes = file.read()
    return found
