"""Issuing the record of a decision: rendered, signed, stored, and told to the holder."""

import hashlib
import logging
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from functools import partial
from typing import Any

from cryptography.hazmat.primitives import hashes
from django.conf import settings
from django.core.exceptions import PermissionDenied
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db import DatabaseError, transaction
from django.db.models import Max, Q
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from assessments.engine.canonical import digest
from assessments.models import Attempt, Decision, Review
from assessments.queries.scope import may_assess
from certificates.actions.notify import tell_holder
from certificates.keys import keystore_of, stamp_authority
from certificates.models import KeyCompromise, Record
from certificates.numbers import new_number
from certificates.photographs import bytes_of_photographs
from certificates.recheck import differences
from certificates.record_document import build_record_document
from certificates.rendering import (
    CERTIFICATE,
    COMPETENCY,
    KINDS,
    Kind,
    RenderingError,
    render,
)
from certificates.signing import KeyStoreError, SigningRefused, sign
from training.actions.log import write_log
from training.errors import Refused
from training.models import Erasure, Organisation, Person
from training.said import said

log = logging.getLogger(__name__)
# Signed with the record, so it does not depend on who issues.
REASON = "Record of a met passing standard"


@dataclass(frozen=True, slots=True)
class Instead:
    """What a further record of the same decision takes the place of, and says otherwise.

    The last day of validity stays that of ``record``. ``guard`` is asked while nobody else can
    act on the attempt; ``also`` writes what goes with the new row, in the same transaction.
    """

    record: Record
    holder_name: str
    guard: Callable[[], object]
    also: Callable[[Record], object]


def issue_record(*, actor: Person, decision: Decision, instead: Instead | None = None) -> Record:
    """Issue the record of ``decision`` and return it; the one issued already, if there is one.

    With ``instead`` a further record of the same decision takes the place of that one.

    Rendering and signing happen before anything is locked; the files are stored before the row
    that names them, and removed again if the row does not come to be. Runs in a transaction
    of its own, so it cannot be called inside another one.

    Raises PermissionDenied for anybody but a lead or an instructor of the run, and whose review
    led to the decision; Refused for a decision that is not met or was replaced, for the own
    work, for a decision that does not follow from its observations, and when the issuing key
    cannot be used.
    """
    decision = Decision.objects.select_related(
        "attempt__enrolment__person",
        "attempt__enrolment__run__site",
        "attempt__enrolment__run__program__provider",
        "attempt__standard__sealed_by",
    ).get(pk=decision.pk)
    if not (may_assess(actor, decision.attempt.enrolment.run) or _made_by(actor, decision)):
        raise PermissionDenied(_("Only a lead or an instructor of the run issues its records."))
    existing = _current_record(decision)
    if existing is not None and instead is None:
        return existing
    _check(actor, decision)
    record, documents = _signed(actor, decision, instead)
    try:
        record.pdf.name = _save(record, CERTIFICATE, documents.certificate)
        record.competency.name = _save(record, COMPETENCY, documents.competency)
        with transaction.atomic(durable=True):
            kept = _store(actor, record, instead)
    except BaseException:
        _remove_orphans(record)
        raise
    if kept is not record:
        _remove_orphans(record)
    return kept


def _made_by(actor: Person, decision: Decision) -> bool:
    """Say whether the decision is the outcome of a review that ``actor`` gave."""
    return Review.objects.filter(result=decision, reviewer=actor).exists()


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
        raise Refused(_("Nobody issues the own record: ask another lead or instructor of the run."))
    if Erasure.objects.filter(person=attempt.enrolment.person_id).exists():
        raise Refused(_("This person's data was erased: no record is issued any more."))
    if Decision.objects.filter(replaces=decision).exists():
        raise Refused(
            _("This decision was made anew. Issue the record from the one that counts now.")
        )
    if attempt.state != Attempt.State.DECIDED:
        raise Refused(
            _("This attempt is not signed off, so there is nothing to issue a record of.")
        )
    if decision.result != Decision.Result.MET:
        raise Refused(
            _(
                "The result is “{result}”: a record is issued only when the passing standard was "
                "met."
            ).format(result=decision.get_result_display().lower())
        )


@dataclass(frozen=True, slots=True)
class _Documents:
    """The two signed PDFs of a record."""

    certificate: bytes
    competency: bytes
    signed_with: str  # SHA-256 of the signing certificate


def _signed(
    actor: Person, decision: Decision, instead: Instead | None
) -> tuple[Record, _Documents]:
    """Return the unsaved record, and the signed PDFs of it."""
    attempt = decision.attempt
    provider = attempt.enrolment.run.program.provider
    issued_at = timezone.now().replace(microsecond=0)
    number = new_number()
    replaced = instead.record if instead else _replaceable(decision)
    document = build_record_document(
        decision=decision,
        number=number,
        issued_at=issued_at,
        check_url=check_url(number),
        replaces=replaced.number if replaced else None,
    )
    if instead:
        document["holder"] = {"name": instead.holder_name}
        document["valid_until"] = instead.record.document["valid_until"]
    wrong = differences(document)
    if wrong:
        raise Refused(
            _("No record can be issued from this decision: {wrong}.").format(wrong=wrong[0])
        )
    documents = _rendered(document, provider, issued_at)
    until = document["valid_until"]
    record = Record(
        provider=provider,
        number=number,
        decision=decision,
        holder=attempt.enrolment.person,
        document=document,
        digest=digest(document),
        pdf_sha256=hashlib.sha256(documents.certificate).hexdigest(),
        competency_sha256=hashlib.sha256(documents.competency).hexdigest(),
        certificate_sha256=documents.signed_with,
        issued_at=issued_at,
        issued_by=actor,
        valid_until=date.fromisoformat(until) if until else None,
        replaces=replaced,
    )
    return record, documents


def _save(record: Record, kind: Kind, pdf: bytes) -> str:
    """Store a PDF under a name of its own, and return the name."""
    name = f"records/{record.issued_at:%Y}/{record.number}-{kind}.pdf"
    return default_storage.save(name, ContentFile(pdf))


def check_url(number: str) -> str:
    """Return the public address at which anybody can check the record."""
    return f"{settings.BASE_URL}{reverse('check_record', args=[number])}"


def _rendered(document: dict[str, Any], provider: Organisation, issued_at: datetime) -> _Documents:
    """Return both documents signed, and the certificate that they were signed with."""
    keystore = keystore_of(provider)
    about = {"reason": REASON, "location": document["course_run"]["site"]}
    try:
        authority = stamp_authority()
        photographs = bytes_of_photographs(document)
        certificate, competency = (
            sign(
                render(document, kind=kind, paper=settings.RECORD_PAPER, photographs=photographs),
                keystore,
                signing_time=issued_at,
                authority=authority,
                **about,
            )
            for kind in KINDS
        )
        signed_with = keystore.identity(at=issued_at).certificate
    except (RenderingError, SigningRefused) as error:
        log.error("no record was issued: %s", error)
        raise Refused(_("Nothing was issued. {error}").format(error=said(str(error)))) from error
    except KeyStoreError as error:
        log.error("no record was issued: %s", error)
        raise Refused(
            _(
                "The record cannot be signed: the issuing key of this server cannot be used. "
                "Nothing was issued; ask whoever runs the server to look at its log."
            )
        ) from error
    return _Documents(certificate, competency, signed_with.fingerprint(hashes.SHA256()).hex())


def _store(actor: Person, record: Record, instead: Instead | None) -> Record:
    """Save the record inside the caller's transaction; return the other one if it came first."""
    # Two people at once: the second waits here, then finds the record of the first.
    Attempt.objects.select_for_update(no_key=True).get(pk=record.decision.attempt_id)
    existing = _current_record(record.decision)
    if instead:
        instead.guard()
    elif existing is not None:
        return existing
    _check(actor, record.decision)
    if not instead and _replaceable(record.decision) != record.replaces:
        raise Refused(_("Another record of this attempt was issued at this moment. Try once more."))
    # The provider's row hands out its serial numbers, one transaction at a time: no gaps.
    Organisation.objects.select_for_update(no_key=True).get(pk=record.provider_id)
    given_up = KeyCompromise.objects.filter(
        provider=record.provider_id, certificate_sha256=record.certificate_sha256
    )
    if given_up.exists():
        raise Refused(_("The issuing key was given up at this moment. Try once more."))
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
            "competency_sha256": record.competency_sha256,
            "replaces": record.replaces.number if record.replaces else None,
        },
    )
    if instead:
        instead.also(record)
    transaction.on_commit(partial(tell_holder, record), robust=True)
    return record


def _remove_orphans(record: Record) -> None:
    """Remove the stored files of a record that did not come to be."""
    for name in filter(None, (record.pdf.name, record.competency.name)):
        _remove_orphan(name)


def _remove_orphan(name: str) -> None:
    """Remove a stored file that no row names; when that cannot be known, leave it."""
    try:
        if not Record.objects.filter(Q(pdf=name) | Q(competency=name)).exists():
            default_storage.delete(name)
    except (DatabaseError, OSError):
        log.exception("the file %s may belong to no record; look whether a row names it", name)
