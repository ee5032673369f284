"""Recording scored facts: each is stored once and never changed; a correction is a new one."""

from collections.abc import Mapping
from typing import Any

from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from assessments.actions.acceptance import (
    REFUSALS,
    Ground,
    OtherContent,
    SeqTaken,
    check_observation,
    not_taken,
)
from assessments.actions.events import Event, read_event
from assessments.engine.canonical import digest
from assessments.engine.errors import EngineError
from assessments.engine.standard import load_standard
from assessments.models import Attempt, Observation
from assessments.queries.scope import attempts_assessable_by
from training.actions.log import write_log
from training.errors import Refused
from training.models import Person

__all__ = ["REFUSALS", "OtherContent", "SeqTaken", "observation_of", "record_observation"]

OTHER_CONTENT = N_(
    "An observation with this id is stored with other content. That one stands; what came "
    "now is kept in the log. Reload the page and score again."
)


def record_observation(*, actor: Person, event: Mapping[str, Any]) -> Observation:
    """Store one scored fact as ``actor`` and return it; see events.py for the event's fields.

    The same event sent again returns what is stored. Raises PermissionDenied for who may not
    assess the attempt; Refused, at the event's field, for a wrong shape or value, a second
    first score of a subject, a correction of what is not current, a closed attempt, and for an
    id that is stored with other content (that event is kept in the log).
    """
    read = read_event(event)
    attempt = _assessable(actor, read)
    try:
        content = digest({**event, "assessor": str(actor.pk)})
    except EngineError as error:
        raise Refused(str(error), field="value") from error
    try:
        return _once(actor, attempt, read, content, event)
    except OtherContent as clash:
        _keep(actor, read, clash)
        raise


def observation_of(read: Event, *, assessor: Person, content: str) -> Observation:
    """Return the row, not saved yet, that an event makes."""
    return Observation(
        id=read.id,
        attempt_id=read.attempt,
        subject_kind=read.subject_kind,
        subject_key=read.subject_key,
        assessor=assessor,
        device=read.device,
        epoch=read.epoch,
        seq=read.seq,
        value=read.value,
        note=read.note,
        device_time=read.device_time,
        device_zone=read.device_zone,
        standard_digest=read.standard_digest,
        content_digest=content,
        replaces_id=read.replaces,
    )


def _once(
    actor: Person, attempt: Attempt, read: Event, content: str, event: Mapping[str, Any]
) -> Observation:
    stored = _stored(read, content, event)
    if stored is not None:
        return stored
    try:
        with transaction.atomic():
            return _store(actor, attempt, read, content)
    except (IntegrityError, Refused) as error:
        # The same event may have come at the same moment: then that one is visible now.
        again = _stored(read, content, event)
        if again is not None:
            return again
        refusal = error if isinstance(error, Refused) else not_taken(error)
        if refusal is None or refusal is error:
            raise
        raise refusal from error


def _stored(read: Event, content: str, event: Mapping[str, Any]) -> Observation | None:
    stored = Observation.objects.filter(pk=read.id).first()
    if stored is None or stored.content_digest == content:
        return stored
    raise OtherContent(OTHER_CONTENT, event)


def _assessable(actor: Person, read: Event) -> Attempt:
    attempt = (
        attempts_assessable_by(actor).select_related("standard").filter(pk=read.attempt).first()
    )
    if attempt is None:
        raise PermissionDenied(_("Only a lead or an instructor of the run scores this attempt."))
    return attempt


def _store(actor: Person, attempt: Attempt, read: Event, content: str) -> Observation:
    current = attempt.observations.filter(
        assessor=actor,
        subject_kind=read.subject_kind,
        subject_key=read.subject_key,
        replaced_by__isnull=True,
    ).first()
    ground = Ground(
        open=attempt.state == Attempt.State.OPEN,
        standard_digest=attempt.standard.digest,
        standard=load_standard(attempt.standard.document),
        current=current.pk if current else None,
    )
    check_observation(read, ground)
    observation = observation_of(read, assessor=actor, content=content)
    observation.save(force_insert=True)
    write_log(
        actor=actor,
        verb="observation.corrected" if current else "observation.recorded",
        subject=observation,
        data={
            "attempt": str(attempt.pk),
            "subject": {"kind": read.subject_kind, "key": read.subject_key},
            "content_digest": content,
        },
    )
    return observation


def _keep(actor: Person, read: Event, clash: OtherContent) -> None:
    stored = Observation.objects.get(pk=read.id)
    with transaction.atomic():
        write_log(
            actor=actor,
            verb="observation.clashed",
            subject=stored,
            data={"stored_digest": stored.content_digest, "received": dict(clash.event)},
        )
