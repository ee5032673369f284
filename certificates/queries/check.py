"""Checking a record by its number: what anybody may learn of it, without an account."""

import logging
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext_noop as N_

from assessments.engine.canonical import digest
from certificates.keys import keystore_of
from certificates.models import Record
from certificates.queries.standing import Standing, standing_of
from certificates.queries.steps import OTHER_RECORD
from certificates.signing import KeyStoreError, Verdict, verify
from certificates.stored import ERASED, NotAsIssued, is_erased, read_as_issued

log = logging.getLogger(__name__)
NO_KEYS = N_("The keys of the issuer cannot be read here, so the signature could not be checked.")


@dataclass(frozen=True)
class Checked:
    """What checking found: ``faults`` says why the record cannot be vouched for.

    ``document`` is the record inside the signed file, and only given without faults;
    ``standing`` is how it stands today; ``issuer`` is the key of the provider. ``erased`` says
    that nothing can be checked any more, since the holder's data was erased.
    """

    number: str
    at: datetime
    faults: list[str]
    standing: Standing | None = None
    document: dict[str, Any] | None = None
    issuer: int | None = None
    erased: bool = False


def check_number(number: str) -> Checked | None:
    """Return what is to be known of the record; None when no such record was issued.

    The stored file is compared with what was issued, its signature is verified against the
    issuer's roots, and the record inside it is compared with the register, every time.
    """
    record = record_numbered(number)
    if record is None:
        return None
    now = timezone.now()
    if is_erased(record):
        return Checked(number, now, [ERASED], erased=True)
    try:
        verdict = verify(read_as_issued(record), keystore_of(record.provider).roots(), now=now)
    except NotAsIssued as missing:
        return Checked(number, now, [str(missing)])
    except KeyStoreError:
        log.exception("record %s: the issuer's roots cannot be read", number)
        return Checked(number, now, [NO_KEYS])
    faults = [*verdict.faults, *other_than_row(record, verdict)]
    if faults:
        log.error("record %s cannot be vouched for: %s", number, " ".join(faults))
        return Checked(number, now, faults)
    return Checked(
        number, now, [], standing_of(record), document=verdict.record, issuer=record.provider_id
    )


def record_numbered(number: str) -> Record | None:
    """Return the row of the register with all that ``standing_of`` looks at, in one query."""
    return (
        Record.objects.select_related(
            "provider",
            "replaced_by",
            "decision__replaced_by",
            "decision__attempt__enrolment__run__site",
        )
        .filter(number=number)
        .first()
    )


def other_than_row(record: Record, verdict: Verdict) -> Iterator[str]:
    """Compare the record inside the signed file with the row of the register."""
    if verdict.record is None:
        return
    until = record.valid_until.isoformat() if record.valid_until else None
    same = (
        digest(verdict.record) == record.digest == digest(record.document)
        and verdict.record["number"] == record.number
        and verdict.record["valid_until"] == until
        and verdict.certificate_sha256 == record.certificate_sha256
        and verdict.signed_at == record.issued_at
    )
    if not same:
        yield OTHER_RECORD
