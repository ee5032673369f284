"""Recording scored facts: each is stored once and never changed; a correction is a new one."""

from collections.abc import Mapping
from typing import Any

from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, transaction

from assessments.actions.constraints import violated
from assessments.actions.events import Event, read_event
from assessments.engine.canonical import digest
from assessments.engine.errors import EngineError
from assessments.engine.standard import load_standard
from assessments.models import Attempt, Observation
from assessments.queries.scope import attempts_assessable_by
from assessments.subjects import check_value
from training.actions.log import write_log
from training.errors import Refused
from training.models import Person

SEQ_TAKEN = "observation_seq_once"
# What the database says, in words of what to do.
REFUSALS = {
    "observation_first_once": "This was scored already, in another window or on another device. "
    "Reload the page and correct what stands there.",
    SEQ_TAKEN: "Another event of this device has the same epoch and seq: send it with the next.",
    "observation_attempt_open": "This attempt was signed off meanwhile: nothing more is scored.",
    "observation_standard_of_attempt": "This was scored under another standard than the attempt's. "
    "Reload the scoring page on the device.",
}
REPLACED = (
    "This was corrected meanwhile, in another window or on another device. "
    "Reload the page and correct what stands there now."
)


class SeqTaken(Refused):
    """The epoch holds this sequence number already; the next one is free to try."""


class OtherContent(Refused):
    """The id is stored with other content; ``event`` is what came now."""

    def __init__(self, message: str, event: Mapping[str, Any]) -> None:
        super().__init__(message, field="id")
        self.event = event


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
        refusal = _refusal(error)
        if refusal is error:
            raise
        raise refusal from error


def _stored(read: Event, content: str, event: Mapping[str, Any]) -> Observation | None:
    stored = Observation.objects.filter(pk=read.id).first()
    if stored is None or stored.content_digest == content:
        return stored
    raise OtherContent(
        "An observation with this id is stored with other content. That one stands; what came "
        "now is kept in the log. Reload the page and score again.",
        event,
    )


def _assessable(actor: Person, read: Event) -> Attempt:
    attempt = (
        attempts_assessable_by(actor).select_related("standard").filter(pk=read.attempt).first()
    )
    if attempt is None:
        raise PermissionDenied("Only a lead or an instructor of the run scores this attempt.")
    return attempt


def _store(actor: Person, attempt: Attempt, read: Event, content: str) -> Observation:
    if attempt.standard.digest != read.standard_digest:
        raise Refused(REFUSALS["observation_standard_of_attempt"], field="standard_digest")
    standard = load_standard(attempt.standard.document)
    check_value(standard, read.subject_kind, read.subject_key, read.value)
    replaced = _replaced(actor, attempt, read)
    observation = Observation.objects.create(
        id=read.id,
        attempt=attempt,
        subject_kind=read.subject_kind,
        subject_key=read.subject_key,
        assessor=actor,
        device=read.device,
        epoch=read.epoch,
        seq=read.seq,
        value=read.value,
        note=read.note,
        device_time=read.device_time,
        device_zone=read.device_zone,
        standard_digest=read.standard_digest,
        content_digest=content,
        replaces=replaced,
    )
    write_log(
        actor=actor,
        verb="observation.corrected" if replaced else "observation.recorded",
        subject=observation,
        data={
            "attempt": str(attempt.pk),
            "subject": {"kind": read.subject_kind, "key": read.subject_key},
            "content_digest": content,
        },
    )
    return observation


def _replaced(actor: Person, attempt: Attempt, read: Event) -> Observation | None:
    """Return the observation that the event corrects, which must be the current one."""
    current = attempt.observations.filter(
        assessor=actor,
        subject_kind=read.subject_kind,
        subject_key=read.subject_key,
        replaced_by__isnull=True,
    ).first()
    if read.replaces is None:
        if current is not None:
            raise Refused(REFUSALS["observation_first_once"], field="replaces")
        if read.value.get("cleared"):
            raise Refused("Nothing is scored here yet, so there is nothing to undo.", field="value")
    elif current is None or current.pk != read.replaces:
        raise Refused(REPLACED, field="replaces")
    return current


def _refusal(error: IntegrityError | Refused) -> Exception:
    """Return the Refused that says the database's no in words; the error itself if unknown."""
    if isinstance(error, Refused):
        return error
    name = violated(error)
    if name == SEQ_TAKEN:
        return SeqTaken(REFUSALS[name], field="seq")
    if name in REFUSALS:
        return Refused(REFUSALS[name])
    if "replaces" in name:
        return Refused(REPLACED, field="replaces")
    return error


def _keep(actor: Person, read: Event, clash: OtherContent) -> None:
    stored = Observation.objects.get(pk=read.id)
    with transaction.atomic():
        write_log(
            actor=actor,
            verb="observation.clashed",
            subject=stored,
            data={"stored_digest": stored.content_digest, "received": dict(clash.event)},
        )
