"""Issuing the record of a decision: rendered, signed, stored, and told to the holder."""

import hashlib
import logging
from datetime import date, datetime
from functools import partial
from typing import Any

from cryptography.hazmat.primitives import hashes
from django.conf import settings
from django.core.exceptions import PermissionDenied
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db import DatabaseError, transaction
from django.db.models import Max
from django.urls import reverse
from django.utils import timezone

from assessments.engine.canonical import digest
from assessments.models import Attempt, Decision
from assessments.queries.scope import may_assess
from certificates.actions.notify import tell_holder
from certificates.keys import keystore_of
from certificates.models import Record
from certificates.numbers import new_number
from certificates.recheck import differences
from certificates.record_document import build_record_document
from certificates.rendering import RenderingError, render
from certificates.signing import KeyStoreError, SigningRefused, sign
from training.actions.log import write_log
from training.errors import Refused
from training.models import Organisation, Person

log = logging.getLogger(__name__)
REASON = "Record of a met passing standard"


def issue_record(*, actor: Person, decision: Decision) -> Record:
    """Issue the record of ``decision`` and return it; the one issued already, if there is one.

    Rendering and signing happen before anything is locked; the file is stored before the row
    that names it, and removed again if the row does not come to be. Runs in a transaction
    of its own, so it cannot be called inside another one.

    Raises PermissionDenied for anybody but a lead or an instructor of the run; Refused for a
    decision that is not met or was replaced, for the own work, for a decision that does not
    follow from its observations, and when the issuing key cannot be used.
    """
    decision = Decision.objects.select_related(
        "attempt__enrolment__person",
        "attempt__enrolment__run__site",
        "attempt__enrolment__run__program__provider",
        "attempt__standard__sealed_by",
    ).get(pk=decision.pk)
    if not may_assess(actor, decision.attempt.enrolment.run):
        raise PermissionDenied("Only a lead or an instructor of the run issues its records.")
    existing = _current_record(decision)
    if existing is not None:
        return existing
    _check(actor, decision)
    record, pdf = _signed(actor, decision)
    record.pdf.name = default_storage.save(record.pdf.name, ContentFile(pdf))
    try:
        with transaction.atomic(durable=True):
            kept = _store(actor, record)
    except BaseException:
        _remove_orphan(record.pdf.name)
        raise
    if kept is not record:
        _remove_orphan(record.pdf.name)
    return kept


def _current_record(decision: Decision) -> Record | None:
    return Record.objects.filter(decision=decision, replaced_by__isnull=True).first()


def _replaceable(decision: Decision) -> Record | None:
    """Return the record of an earlier decision of the same attempt that still stands."""
    return (
        Record.objects.filter(decision__attempt=decision.attempt_id, replaced_by__isnull=True)
        .exclude(decision=decision)
        .first()
    )


def _check(actor: Person, decision: Decision) -> None:
    attempt = decision.attempt
    if attempt.enrolment.person_id == actor.pk:
        raise Refused("Nobody issues the own record: ask another lead or instructor of the run.")
    if Decision.objects.filter(replaces=decision).exists():
        raise Refused("This decision was made anew. Issue the record from the one that counts now.")
    if attempt.state != Attempt.State.DECIDED:
        raise Refused("This attempt is not signed off, so there is nothing to issue a record of.")
    if decision.result != Decision.Result.MET:
        raise Refused(
            f"The result is “{decision.get_result_display().lower()}”: a record is issued only "
            "when the passing standard was met."
        )


def _signed(actor: Person, decision: Decision) -> tuple[Record, bytes]:
    """Return the unsaved record, and the signed PDF of it."""
    attempt = decision.attempt
    provider = attempt.enrolment.run.program.provider
    issued_at = timezone.now().replace(microsecond=0)
    number = new_number()
    replaced = _replaceable(decision)
    document = build_record_document(
        decision=decision,
        number=number,
        issued_at=issued_at,
        check_url=check_url(number),
        replaces=replaced.number if replaced else None,
    )
    wrong = differences(document)
    if wrong:
        raise Refused(f"No record can be issued from this decision: {wrong[0]}.")
    pdf, certificate = _rendered(document, provider, issued_at)
    until = document["valid_until"]
    record = Record(
        provider=provider,
        number=number,
        decision=decision,
        holder=attempt.enrolment.person,
        document=document,
        digest=digest(document),
        pdf=f"records/{issued_at:%Y}/{number}.pdf",
        pdf_sha256=hashlib.sha256(pdf).hexdigest(),
        certificate_sha256=certificate,
        issued_at=issued_at,
        issued_by=actor,
        valid_until=date.fromisoformat(until) if until else None,
        replaces=replaced,
    )
    return record, pdf


def check_url(number: str) -> str:
    """Return the public address at which anybody can check the record."""
    return f"{settings.BASE_URL}{reverse('check_record', args=[number])}"


def _rendered(
    document: dict[str, Any], provider: Organisation, issued_at: datetime
) -> tuple[bytes, str]:
    """Return the signed PDF and the SHA-256 of the certificate that it was signed with."""
    keystore = keystore_of(provider)
    try:
        pdf = render(document, paper=settings.RECORD_PAPER)
        signed = sign(
            pdf,
            keystore,
            signing_time=issued_at,
            reason=REASON,
            location=document["course_run"]["site"],
        )
        certificate = keystore.identity(at=issued_at).certificate
    except (RenderingError, SigningRefused) as error:
        log.error("no record was issued: %s", error)
        raise Refused(f"Nothing was issued. {error}") from error
    except KeyStoreError as error:
        log.error("no record was issued: %s", error)
        raise Refused(
            "The record cannot be signed: the issuing key of this server cannot be used. "
            "Nothing was issued; ask whoever runs the server to look at its log."
        ) from error
    return signed, certificate.fingerprint(hashes.SHA256()).hex()


def _store(actor: Person, record: Record) -> Record:
    """Save the record inside the caller's transaction; return the other one if it came first."""
    # Two people at once: the second waits here, then finds the record of the first.
    Attempt.objects.select_for_update(no_key=True).get(pk=record.decision.attempt_id)
    existing = _current_record(record.decision)
    if existing is not None:
        return existing
    _check(actor, record.decision)
    if _replaceable(record.decision) != record.replaces:
        raise Refused("Another record of this attempt was issued at this moment. Try once more.")
    # The provider's row hands out its serial numbers, one transaction at a time: no gaps.
    Organisation.objects.select_for_update(no_key=True).get(pk=record.provider_id)
    last = Record.objects.filter(provider=record.provider_id).aggregate(last=Max("serial"))["last"]
    record.serial = (last or 0) + 1
    record.save(force_insert=True)
    write_log(
        actor=actor,
        verb="record.issued",
        subject=record,
        data={
            "number": record.number,
            "serial": record.serial,
            "decision": str(record.decision_id),
            "digest": record.digest,
            "pdf_sha256": record.pdf_sha256,
            "replaces": record.replaces.number if record.replaces else None,
        },
    )
    transaction.on_commit(partial(tell_holder, record), robust=True)
    return record


def _remove_orphan(name: str) -> None:
    """Remove a stored file that no row names; when that cannot be known, leave it."""
    try:
        if not Record.objects.filter(pdf=name).exists():
            default_storage.delete(name)
    except (DatabaseError, OSError):
        log.exception("the file %s may belong to no record; look whether a row names it", name)
