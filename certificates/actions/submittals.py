"""Submitting: what the crew covers is drawn, signed by the contractor, stored and numbered."""

import hashlib
import logging
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from cryptography.hazmat.primitives import hashes
from django.conf import settings
from django.core.exceptions import PermissionDenied
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db import DatabaseError, transaction
from django.db.models import Max
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from certificates.keys import keystore_of, stamp_authority
from certificates.models import Project, Submittal, SubmittedRecord
from certificates.queries.crew_scope import projects_kept_by
from certificates.queries.submittals import cannot_submit, statement_now
from certificates.rendering import RenderingError
from certificates.signing import KeyStoreError, SigningRefused, sign
from certificates.signing.verify import MAX_BYTES
from certificates.submittal import Statement, finished, render_submittal
from certificates.wording import count
from training.actions.log import write_log
from training.digests import digest
from training.errors import Refused
from training.models import Organisation, Person
from training.said import said

log = logging.getLogger(__name__)

REASON = "Submittal of who covers which post"
GAP_FIELD = "gap_{}"
LONGEST_WORDS = 2000
CHANGED = N_(
    "What the crew covers has changed since you opened this page, so nothing was signed. This is "
    "how it stands now: look at it, then sign and submit. What you had written is kept below."
)
AT_ONCE = N_(
    "Submittal {number} of this project was made by {person} at this moment, so yours was not. "
    "Look at that one first; if yours is still wanted, sign and submit once more."
)
MET_BY = N_("Write how this gap is met, or when it will be: the owner reads it.")
TOO_LARGE = N_(
    "The PDF of this submittal would be larger than one file may be here. Make two projects of "
    "it, each with a part of the posts."
)


def too_long() -> str:
    """Say how long the words about a gap may be."""
    return _("Write {number} characters at most.").format(number=count(LONGEST_WORDS))


class CoverageChanged(Refused):
    """What is to be signed is not what the manager looked at."""


@dataclass(frozen=True)
class _Signed:
    document: dict[str, Any]
    pdf: bytes
    signed_with: str  # SHA-256 of the signing certificate


def submit(*, actor: Person, project: Project, seen: str, met_by: Mapping[str, str]) -> Submittal:
    """Sign and store the next submittal of ``project`` and return it.

    ``seen`` is the ``seen`` of the statement that the manager was shown; ``met_by`` has the
    contractor's words for the key of each of its gaps. Drawing and signing happen before anything
    is locked; the file is stored before the row that names it, and removed again if the row does
    not come to be. Runs in a transaction of its own. Raises PermissionDenied for anybody but a
    manager of the contractor; CoverageChanged when ``seen`` is of another state; Refused with the
    field of the gap where words are missing, when somebody else submits at this moment, and when
    the contractor's key cannot be used.
    """
    if not projects_kept_by(actor).filter(pk=project.pk).exists():
        raise PermissionDenied(_("Only a manager of the contractor submits for a project."))
    now = timezone.now().replace(microsecond=0)
    why = cannot_submit(project, now=now)
    if why:
        raise Refused(why)
    statement = statement_now(project, now=now)
    if statement.seen != seen:
        raise CoverageChanged(_(CHANGED))
    words = _words(statement, met_by)
    number = _last(project) + 1
    signed = _sign(
        finished(statement, number=number, by=actor.full_name, at=now, met_by=words),
        project.contractor,
        now,
    )
    submittal = _row(actor, project, signed, now)
    try:
        name = f"submittals/{now:%Y}/{submittal.pk}.pdf"
        submittal.pdf.name = default_storage.save(name, ContentFile(signed.pdf))
        with transaction.atomic(durable=True):
            _store(actor, submittal, statement)
    except BaseException:
        _remove_orphan(submittal.pdf.name or "")
        raise
    return submittal


def _words(statement: Statement, met_by: Mapping[str, str]) -> dict[str, str]:
    """Return the contractor's words for each gap; Refused at the field where they are missing."""
    found = {}
    for gap in statement.gaps:
        text = met_by.get(gap.key, "").strip()
        if not text:
            raise Refused(_(MET_BY), field=GAP_FIELD.format(gap.key))
        if len(text) > LONGEST_WORDS:
            raise Refused(too_long(), field=GAP_FIELD.format(gap.key))
        found[gap.key] = text
    return found


def _sign(document: dict[str, Any], contractor: Organisation, now: datetime) -> _Signed:
    """Return the document with its PDF, signed with the contractor's own key."""
    try:
        keystore = keystore_of(contractor)
        pdf = sign(
            render_submittal(document, paper=settings.RECORD_PAPER),
            keystore,
            signing_time=now,
            reason=REASON,
            location=document["project"]["place"] or document["project"]["name"],
            authority=stamp_authority(),
        )
        signed_with = keystore.identity(at=now).certificate.fingerprint(hashes.SHA256()).hex()
    except (RenderingError, SigningRefused) as error:
        log.error("nothing was submitted: %s", error)
        raise Refused(_("Nothing was submitted. {error}").format(error=said(str(error)))) from error
    except KeyStoreError as error:
        log.error("nothing was submitted: %s", error)
        raise Refused(
            _(
                "The submittal cannot be signed: the contractor's key on this server cannot be "
                "used. Nothing was submitted; ask whoever runs the server to look at its log."
            )
        ) from error
    if len(pdf) > MAX_BYTES:
        raise Refused(_(TOO_LARGE))
    return _Signed(document, pdf, signed_with)


def _row(actor: Person, project: Project, signed: _Signed, now: datetime) -> Submittal:
    return Submittal(
        project=project,
        number=signed.document["number"],
        document=signed.document,
        digest=digest(signed.document),
        pdf_sha256=hashlib.sha256(signed.pdf).hexdigest(),
        certificate_sha256=signed.signed_with,
        submitted_by=actor,
        submitted_at=now,
    )


def _store(actor: Person, submittal: Submittal, statement: Statement) -> None:
    """Save the row inside the caller's transaction, when its number and its state still hold."""
    # The project's row hands out its numbers, one transaction at a time: no gaps.
    project = Project.objects.select_for_update(no_key=True).get(pk=submittal.project_id)
    if not projects_kept_by(actor).filter(pk=project.pk).exists():
        raise PermissionDenied(_("Only a manager of the contractor submits for a project."))
    last = project.submittals.select_related("submitted_by").order_by("-number").first()
    if last is not None and last.number >= submittal.number:
        raise Refused(_(AT_ONCE).format(number=last.number, person=last.submitted_by))
    if statement_now(project, now=submittal.submitted_at).seen != statement.seen:
        raise CoverageChanged(_(CHANGED))
    submittal.save(force_insert=True)
    SubmittedRecord.objects.bulk_create(
        SubmittedRecord(submittal=submittal, record_id=pk) for pk in sorted(statement.records)
    )
    write_log(
        actor=actor,
        verb="submittal.made",
        subject=submittal,
        data={
            "project": str(project.pk),
            "number": submittal.number,
            "digest": submittal.digest,
            "pdf_sha256": submittal.pdf_sha256,
            "records": len(statement.records),
        },
    )


def _last(project: Project) -> int:
    found = project.submittals.aggregate(last=Max("number"))["last"]
    return found or 0


def _remove_orphan(name: str) -> None:
    """Remove a stored file that no row names; when that cannot be known, leave it."""
    try:
        if name and not Submittal.objects.filter(pdf=name).exists():
            default_storage.delete(name)
    except (DatabaseError, OSError):
        log.exception("the file %s may belong to no submittal; look whether a row names it", name)
