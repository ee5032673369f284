"""Checking a file that somebody sent: is it the record, as its issuer signed it?"""

import logging
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.utils import timezone

from certificates.keys import known_crls, known_roots, known_stamp_roots
from certificates.models import Record
from certificates.queries.check import other_than_row, record_numbered
from certificates.queries.standing import Standing, standing_of
from certificates.queries.steps import (
    ASKED,
    REGISTER,
    UNLISTED,
    WITH_LISTS,
    Step,
    by_step,
    steps_of,
)
from certificates.sandbox import verify_apart
from certificates.signing import Verdict
from certificates.stored import ERASED, is_erased

log = logging.getLogger(__name__)


@dataclass(frozen=True)
class CheckedFile:
    """What checking found. ``faults`` is empty exactly when the file is the genuine record.

    ``document``, ``number`` and ``standing`` are only given then. ``claims`` is what the signature
    says of itself and nobody vouches for: who signed, and when. ``stamped_at`` is when a
    time-stamp authority known here saw the signature.
    """

    at: datetime
    steps: list[Step]
    faults: list[str]
    claims: tuple[str, datetime] | None = None
    stamped_at: datetime | None = None
    has_stamp: bool = False
    number: str | None = None
    standing: Standing | None = None
    document: dict[str, Any] | None = None
    issuer: int | None = None


def check_file(pdf: bytes, asked: str | None = None) -> CheckedFile:
    """Return what is to be known of ``pdf``; ``asked`` is the number that it should have.

    The file is read in a process of its own; its signature is verified against the roots of every
    issuer of this server, and its record compared with the register. Raises KeyStoreError when
    the roots cannot be read, sandbox.Busy and sandbox.NotStarted.
    """
    now = timezone.now()
    verdict = verify_apart(
        pdf, known_roots(), now=now, stamp_roots=known_stamp_roots(), crls=known_crls()
    )
    faults = by_step(verdict.faults)
    number = str(verdict.record["number"]) if verdict.record else None
    row = record_numbered(number) if number else None
    if verdict.record is not None:
        faults |= _faults_of_register(row, verdict)
    if number and asked and number != asked:
        faults[ASKED] = [_other_number(number, asked)]
    keys = (*WITH_LISTS, REGISTER, *([ASKED] if asked else []))
    steps = steps_of(keys, faults)
    told = [fault for step in steps for fault in step.faults]
    if told or row is None:
        return CheckedFile(now, steps, told, claims=_claims(verdict))
    return CheckedFile(
        now,
        steps,
        [],
        stamped_at=verdict.stamped_at,
        has_stamp=verdict.level in ("B-T", "B-LT"),
        number=number,
        standing=standing_of(row),
        document=verdict.record,
        issuer=row.provider_id,
    )


def _faults_of_register(row: Record | None, verdict: Verdict) -> dict[str, list[str]]:
    if row is None:
        log.error("a file bears the signature of %s, but is in no register", verdict.signer)
        return {REGISTER: [UNLISTED]}
    if is_erased(row):
        return {REGISTER: [ERASED]}
    differs = list(other_than_row(row, verdict))
    if differs:
        log.error("a sent file of record %s: %s", row.number, " ".join(differs))
        return {REGISTER: differs}
    return {}


def _other_number(number: str, asked: str) -> str:
    return f"This is the file of record {number}, not of {asked}."


def _claims(verdict: Verdict) -> tuple[str, datetime] | None:
    if verdict.signer is None or verdict.signed_at is None:
        return None
    return verdict.signer, verdict.signed_at
