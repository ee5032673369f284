"""Photographs: what a device says of one is stored once, and its bytes once under their digest."""

import hashlib
from collections.abc import Mapping
from typing import Any

from django.core.exceptions import PermissionDenied
from django.core.files.base import ContentFile
from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from assessments.actions.acceptance import (
    OTHER_STANDARD,
    REFUSALS,
    SIGNED_OFF,
    STANDARD_OF_ATTEMPT,
    UNREADABLE,
    NotTaken,
    OtherContent,
    SeqTaken,
)
from assessments.actions.constraints import violated
from assessments.actions.site.packs import hold_open
from assessments.actions.site.photo_event import PhotoEvent, check_sha256, read_photo_event
from assessments.engine.canonical import digest
from assessments.models import Attempt, Observation, Pack, Photo, PhotoBytes
from assessments.photographs import check_photograph
from assessments.queries.scope import attempts_assessable_by
from assessments.subjects import find_subject, subjects_of
from training.actions.log import write_log
from training.errors import Refused
from training.models import Person

SEQ_ONCE = "photo_seq_once"
CLOSED = N_("This attempt was signed off meanwhile: no photograph is added to it.")


def record_photo(pack: Pack, event: Mapping[str, Any]) -> Photo:
    """Store what the device of ``pack`` says of a photograph; see ``record_photo_as``.

    An attempt of another run than the pack's raises PermissionDenied too.
    """
    read = read_photo_event(event)
    if not Attempt.objects.filter(pk=read.attempt, enrolment__run=pack.run_id).exists():
        raise PermissionDenied(_("This attempt is not one of the run that was taken up."))
    return record_photo_as(actor=pack.assessor, event=event)


def record_photo_as(*, actor: Person, event: Mapping[str, Any]) -> Photo:
    """Store what a device says of a photograph that ``actor`` took; its bytes may come later.

    The same event sent again returns what is stored. Raises PermissionDenied for who may not
    assess the attempt; Refused, at the event's field, for a wrong shape; NotTaken for another
    standard, an unknown subject, a closed attempt, a taken seq, and an id with other content.
    """
    read = read_photo_event(event)
    attempt = (
        attempts_assessable_by(actor).select_related("standard").filter(pk=read.attempt).first()
    )
    if attempt is None:
        raise PermissionDenied(_("Only a lead or an instructor of the run takes up this attempt."))
    content = digest({**event, "assessor": str(actor.pk)})
    stored = _stored(read, content, event)
    if stored is not None:
        return stored
    _check(attempt, read)
    try:
        with transaction.atomic():
            return _store(actor, attempt, read, content)
    except IntegrityError as error:
        # The same event may have come at the same moment: then that one is visible now.
        again = _stored(read, content, event)
        if again is not None:
            return again
        if violated(error) == SEQ_ONCE:
            raise SeqTaken from error
        raise


def receive_bytes(pack: Pack, sha256: str, data: bytes) -> PhotoBytes:
    """Keep the bytes of a photograph under their digest, once; the same again changes nothing.

    Raises Refused, with what to do, where the digest is another's or the bytes are no photograph
    that may be kept (assessments/photographs.py); TokenRefused where the pack was closed meanwhile.
    """
    check_sha256(sha256)
    kept = PhotoBytes.objects.filter(pk=sha256).first()
    if hashlib.sha256(data).hexdigest() != sha256:
        raise Refused(
            _(
                "The bytes are not those of the address: their SHA-256 is another. Send the "
                "photograph again."
            ),
            field="sha256",
        )
    if kept is not None:
        return kept
    check_photograph(data)
    received = PhotoBytes(sha256=sha256, size=len(data))
    received.file.save(f"{sha256}.jpg", ContentFile(data), save=False)
    try:
        with transaction.atomic():
            hold_open(pack)
            received.save(force_insert=True)
            write_log(
                actor=pack.assessor,
                verb="photograph.received",
                subject=pack,
                data={"sha256": sha256, "size": received.size},
            )
    except IntegrityError:
        # The same bytes came at the same moment: those are kept.
        received.file.delete(save=False)
        return PhotoBytes.objects.get(pk=sha256)
    except BaseException:
        received.file.delete(save=False)
        raise
    return received


def _stored(read: PhotoEvent, content: str, event: Mapping[str, Any]) -> Photo | None:
    stored = Photo.objects.filter(pk=read.id).first()
    if stored is None or stored.content_digest == content:
        return stored
    raise OtherContent(
        _("A photograph with this id is stored with other content. That one stands."), event
    )


def _check(attempt: Attempt, read: PhotoEvent) -> None:
    if attempt.standard.digest != read.standard_digest:
        raise NotTaken(
            REFUSALS[STANDARD_OF_ATTEMPT], reason=OTHER_STANDARD, field="standard_digest"
        )
    if attempt.state != Attempt.State.OPEN:
        raise NotTaken(CLOSED, reason=SIGNED_OFF, field="attempt")
    subjects = subjects_of(attempt.standard.document)
    if find_subject(subjects, read.subject_kind, read.subject_key) is None:
        what = read.subject_kind.replace("_", " ")
        raise NotTaken(
            _("The standard has no {what} {subject_key}.").format(
                what=what, subject_key=read.subject_key
            ),
            reason=UNREADABLE,
            field="subject",
        )
    if Observation.objects.filter(epoch=read.epoch, seq=read.seq).exists():
        raise SeqTaken


def _store(actor: Person, attempt: Attempt, read: PhotoEvent, content: str) -> Photo:
    photo = Photo.objects.create(
        id=read.id,
        attempt=attempt,
        subject_kind=read.subject_kind,
        subject_key=read.subject_key,
        assessor=actor,
        device=read.device,
        epoch=read.epoch,
        seq=read.seq,
        sha256=read.sha256,
        size=read.size,
        width=read.width,
        height=read.height,
        claimed_at=read.claimed_at,
        device_zone=read.device_zone,
        content_digest=content,
    )
    write_log(
        actor=actor,
        verb="photograph.recorded",
        subject=photo,
        data={
            "attempt": str(attempt.pk),
            "subject": {"kind": read.subject_kind, "key": read.subject_key},
            "sha256": read.sha256,
        },
    )
    return photo
