"""What every scored fact is held to, whether it comes by itself or in a batch.

``NotTaken`` says why one is not taken in: ``reason`` is a word for programs, the message for
people. Both ways of recording use these checks; the triggers of the database hold them as well,
for what two transactions do at the same moment.
"""

import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.db import IntegrityError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from assessments.actions.constraints import violated
from assessments.actions.events import Event
from assessments.engine.standard import Standard
from assessments.subjects import check_value
from training.errors import Refused

UNREADABLE = "unreadable"
SCHEMA_TOO_NEW = "schema_too_new"
UNKNOWN_KIND = "unknown_kind"
UNKNOWN_ATTEMPT = "unknown_attempt"
NOT_OF_RUN = "not_of_run"
NO_AUTHORITY = "no_authority"
SIGNED_OFF = "signed_off"
OTHER_STANDARD = "other_standard"
OTHER_CONTENT = "other_content"
CORRECTED_MEANWHILE = "corrected_meanwhile"
SCORED_ALREADY = "scored_already"
NOTHING_TO_UNDO = "nothing_to_undo"
SEQ_TAKEN = "seq_taken"
OTHER_DEVICE = "other_device"
STAGE_STANDS = "stage_stands"

FIRST_ONCE = "observation_first_once"
SEQ_ONCE = "observation_seq_once"
ATTEMPT_OPEN = "observation_attempt_open"
STANDARD_OF_ATTEMPT = "observation_standard_of_attempt"
STANDS = "observation_stage_stands"
# What the database says, in words of what to do.
REFUSALS = {
    FIRST_ONCE: N_(
        "This was scored already, in another window or on another device. "
        "Reload the page and correct what stands there."
    ),
    SEQ_ONCE: N_("Another event of this device has the same epoch and seq: send it with the next."),
    ATTEMPT_OPEN: N_("This attempt was signed off meanwhile: nothing more is scored."),
    STANDARD_OF_ATTEMPT: N_(
        "This was scored under another standard than the attempt's. "
        "Reload the scoring page on the device."
    ),
    STANDS: N_("This stage stands from the attempt before: it is not scored again."),
}
REASONS = {
    FIRST_ONCE: SCORED_ALREADY,
    ATTEMPT_OPEN: SIGNED_OFF,
    STANDARD_OF_ATTEMPT: OTHER_STANDARD,
    STANDS: STAGE_STANDS,
}
REPLACED = N_(
    "This was corrected meanwhile, in another window or on another device. "
    "Reload the page and correct what stands there now."
)


class NotTaken(Refused):
    """A scored fact was not taken in; ``reason`` is one of the words above."""

    def __init__(self, message: str, *, reason: str, field: str | None = None) -> None:
        super().__init__(message, field=field)
        self.reason = reason


class SeqTaken(NotTaken):
    """The epoch holds this sequence number already; the next one is free to try."""

    def __init__(self, message: str = REFUSALS[SEQ_ONCE], *, field: str = "seq") -> None:
        super().__init__(message, reason=SEQ_TAKEN, field=field)


class OtherContent(NotTaken):
    """The id is stored with other content; ``event`` is what came now."""

    def __init__(self, message: str, event: Mapping[str, Any]) -> None:
        super().__init__(message, reason=OTHER_CONTENT, field="id")
        self.event = event


@dataclass(frozen=True, slots=True)
class Ground:
    """What an event is held against: its attempt, and what is stored now.

    ``current`` is the assessor's current observation of the event's subject, if any.
    """

    open: bool
    standard_digest: str
    standard: Standard
    current: uuid.UUID | None


def check_observation(read: Event, ground: Ground) -> None:
    """Raise NotTaken, at the event's field, where the attempt cannot take the event in."""
    if not ground.open:
        raise NotTaken(REFUSALS[ATTEMPT_OPEN], reason=SIGNED_OFF)
    if ground.standard_digest != read.standard_digest:
        raise NotTaken(
            REFUSALS[STANDARD_OF_ATTEMPT], reason=OTHER_STANDARD, field="standard_digest"
        )
    if _holds_nul(read.value):
        raise NotTaken(
            _("The value holds a text with a character of no meaning (NUL): enter it again."),
            reason=UNREADABLE,
            field="value",
        )
    try:
        check_value(ground.standard, read.subject_kind, read.subject_key, read.value)
    except Refused as refused:
        raise NotTaken(refused.message, reason=UNREADABLE, field=refused.field) from refused
    _check_order(read, ground.current)


def not_taken(error: IntegrityError) -> NotTaken | None:
    """Return the database's no to an observation in words; None for one that is unknown."""
    name = violated(error)
    if name == SEQ_ONCE:
        return SeqTaken()
    if name in REASONS:
        return NotTaken(REFUSALS[name], reason=REASONS[name])
    if "replaces" in name:
        return NotTaken(REPLACED, reason=CORRECTED_MEANWHILE, field="replaces")
    return None


def _check_order(read: Event, current: uuid.UUID | None) -> None:
    """Raise NotTaken unless the event is the first score, or corrects the current one."""
    if read.replaces is None:
        if current is not None:
            raise NotTaken(REFUSALS[FIRST_ONCE], reason=SCORED_ALREADY, field="replaces")
        if read.value.get("cleared"):
            raise NotTaken(
                _("Nothing is scored here yet, so there is nothing to undo."),
                reason=NOTHING_TO_UNDO,
                field="value",
            )
    elif current != read.replaces:
        raise NotTaken(REPLACED, reason=CORRECTED_MEANWHILE, field="replaces")


def _holds_nul(value: object) -> bool:
    """Say whether a text inside holds U+0000, which PostgreSQL's JSON cannot."""
    if isinstance(value, str):
        return "\0" in value
    if isinstance(value, dict):
        return any("\0" in key or _holds_nul(item) for key, item in value.items())
    return isinstance(value, list) and any(_holds_nul(item) for item in value)
