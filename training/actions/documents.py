"""Keeping the papers that a person shows, and taking one back."""

import uuid
from datetime import date, timedelta

from django.core.exceptions import PermissionDenied
from django.core.files.base import ContentFile
from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from training.actions.log import write_log
from training.errors import Refused
from training.models import DocumentTakenBack, HeldDocument, Organisation, Person
from training.queries.papers import (
    INSTRUCTOR,
    documents_kept_by,
    documents_visible_to,
    kinds_of,
    providers_for,
)
from training.queries.scope import is_lead
from training.scans import MEGABYTE, Scan

LARGEST = 20 * MEGABYTE
OWN = N_("Nobody vouches for the own papers: show them to a training lead or another instructor.")
NOT_YOURS = N_("Only a training lead, or an instructor of a run that the person is on, does this.")
KEPT_ALREADY = N_(
    "This paper is kept already, with other words than these. Look at the person's papers; to "
    "keep another one, open this page anew."
)


def keep_document(
    *,
    actor: Person,
    person: Person,
    provider: Organisation,
    kind: str,
    title: str,
    issuer: str,
    issued_on: date,
    expires_on: date | None = None,
    number: str = "",
    scan: Scan | None = None,
    document: uuid.UUID | None = None,
) -> HeldDocument:
    """Keep a paper of ``person`` that ``actor`` has seen, and return it.

    ``kind`` is the key of a prerequisite of the provider's programs, or ``instructor``.
    ``expires_on`` is the last day on which it holds, None for no end. ``document`` is the id
    made when the form was shown: sent twice, it is kept once. Raises PermissionDenied for the
    own papers, for anybody but a lead of the provider or an instructor of a run that the person
    is on, and for an instructor's qualification kept by anybody but a lead; Refused, at its
    field, for a kind that nobody asks for, an empty text, and days that cannot be.
    """
    _require(actor, person, provider, kind)
    made = HeldDocument(
        id=document or uuid.uuid4(),
        person=person,
        provider=provider,
        kind=kind,
        title=_text(title, "title", _("Write what the paper is called.")),
        issuer=_text(issuer, "issuer", _("Write who issued the paper.")),
        number=" ".join(number.split()),
        issued_on=issued_on,
        expires_on=expires_on,
        sha256=scan.sha256 if scan else "",
        seen_by=actor,
    )
    _check(made)
    try:
        return _store(made, scan)
    except IntegrityError:
        # The same form sent twice at one moment.
        return _stored_before(made, HeldDocument.objects.get(pk=made.pk))


def take_back_document(*, actor: Person, document: HeldDocument, reason: str) -> DocumentTakenBack:
    """Say that a paper counts no longer, and why; what was started under it stays.

    Raises PermissionDenied for anybody who may not keep such a paper, Refused at ``reason``
    without one, and for a paper that was taken back before.
    """
    if not documents_kept_by(actor).filter(pk=document.pk).exists():
        raise PermissionDenied(_(OWN) if document.person_id == actor.pk else _(NOT_YOURS))
    why = _text(reason, "reason", _("Write why the paper counts no longer."))
    with transaction.atomic():
        locked = HeldDocument.objects.select_for_update(of=("self",)).get(pk=document.pk)
        if DocumentTakenBack.objects.filter(document=locked).exists():
            raise Refused(_("This paper was taken back before."))
        taken = DocumentTakenBack.objects.create(document=locked, reason=why, by=actor)
        write_log(
            actor=actor,
            verb="document.taken_back",
            subject=locked,
            data={"person": locked.person_id, "kind": locked.kind},
        )
    return taken


def _require(actor: Person, person: Person, provider: Organisation, kind: str) -> None:
    if actor.pk == person.pk:
        raise PermissionDenied(_(OWN))
    if not providers_for(actor, person).filter(pk=provider.pk).exists():
        raise PermissionDenied(_(NOT_YOURS))
    if kind == INSTRUCTOR and not is_lead(actor, provider):
        raise PermissionDenied(_("Only a training lead keeps an instructor's qualification."))


def _check(made: HeldDocument) -> None:
    if made.kind != INSTRUCTOR and made.kind not in kinds_of(made.provider):
        raise Refused(
            _("No program of {provider} asks for such a paper: choose one from the list.").format(
                provider=made.provider
            ),
            field="kind",
        )
    # A day is over on the other side of the world before it is here: one day is allowed.
    if made.issued_on > timezone.localdate() + timedelta(days=1):
        raise Refused(
            _("This day is still to come: write the day that stands on the paper."),
            field="issued_on",
        )
    if made.expires_on is not None and made.expires_on < made.issued_on:
        raise Refused(
            _("The last day is before the day of issue: change one of them."), field="expires_on"
        )


@transaction.atomic
def _store(made: HeldDocument, scan: Scan | None) -> HeldDocument:
    stored = HeldDocument.objects.filter(pk=made.pk).first()
    if stored is not None:
        return _stored_before(made, stored)
    if scan is not None:
        made.file.save(f"{made.pk}{scan.ending}", ContentFile(scan.content), save=False)
    try:
        with transaction.atomic():
            made.save(force_insert=True)
    except IntegrityError:
        if scan is not None:
            made.file.delete(save=False)
        raise
    write_log(
        actor=made.seen_by,
        verb="document.kept",
        subject=made,
        data={
            "person": made.person_id,
            "provider": made.provider_id,
            "kind": made.kind,
            "issued_on": made.issued_on.isoformat(),
            "expires_on": made.expires_on.isoformat() if made.expires_on else None,
            "sha256": made.sha256,
        },
    )
    return made


def _stored_before(made: HeldDocument, stored: HeldDocument) -> HeldDocument:
    if _content(made) != _content(stored):
        # Somebody else's paper of that number is nobody's business.
        if not documents_visible_to(made.seen_by).filter(pk=stored.pk).exists():
            raise PermissionDenied(_(NOT_YOURS))
        raise Refused(_(KEPT_ALREADY))
    return stored


def _content(document: HeldDocument) -> tuple[object, ...]:
    people = (document.person_id, document.provider_id, document.seen_by_id)
    words = (document.kind, document.title, document.issuer, document.number)
    return (*people, *words, document.issued_on, document.expires_on, document.sha256)


def _text(text: str, field: str, missing: str) -> str:
    tidy = " ".join(text.split())
    if not tidy:
        raise Refused(missing, field=field)
    return tidy
