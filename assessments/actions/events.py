"""The event in which a device sends one scored fact, read strictly.

An event is a JSON object with exactly these fields:
``id``, ``attempt``, ``device``, ``epoch`` (UUIDs as text), ``seq`` (1, 2, 3... inside an epoch),
``subject`` {kind: criterion | hold_point, key}, ``value`` (an object, engine/FORMATS.md),
``note`` (text), ``replaces`` (UUID of the observation corrected, or null), ``device_time``
(ISO 8601 with its offset), ``device_zone`` (such as America/New_York), ``standard_digest``
(what the device scored under) and ``schema_version`` (1).
"""

import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from django.utils.translation import gettext as _

from assessments.models import Observation
from training.errors import Refused

SCHEMA_VERSION = 1
LONGEST_NOTE = 2000
LARGEST_SEQ = 2**53
FIELDS = (
    "id",
    "attempt",
    "device",
    "epoch",
    "seq",
    "subject",
    "value",
    "note",
    "replaces",
    "device_time",
    "device_zone",
    "standard_digest",
    "schema_version",
)


@dataclass(frozen=True, slots=True)
class Event:
    """One scored fact as a device sent it, every field of the right shape."""

    id: uuid.UUID
    attempt: uuid.UUID
    device: uuid.UUID
    epoch: uuid.UUID
    seq: int
    subject_kind: str
    subject_key: str
    value: dict[str, Any]
    note: str
    replaces: uuid.UUID | None
    device_time: datetime
    device_zone: str
    standard_digest: str


def read_event(sent: Mapping[str, Any]) -> Event:
    """Return the event; raise Refused, naming the field, where its shape is wrong."""
    check_fields(sent, FIELDS)
    kind, key = subject_of(sent["subject"])
    return Event(
        id=uuid_at(sent, "id"),
        attempt=uuid_at(sent, "attempt"),
        device=uuid_at(sent, "device"),
        epoch=uuid_at(sent, "epoch"),
        seq=seq_of(sent["seq"]),
        subject_kind=kind,
        subject_key=key,
        value=_value(sent["value"]),
        note=_note(sent["note"]),
        replaces=None if sent["replaces"] is None else uuid_at(sent, "replaces"),
        device_time=time_at(sent, "device_time"),
        device_zone=zone_of(sent["device_zone"]),
        standard_digest=text_at(sent, "standard_digest"),
    )


def check_fields(sent: Mapping[str, Any], names: Sequence[str]) -> None:
    """Raise Refused where a field is missing, unknown, or the version is none of ours."""
    for name in names:
        if name not in sent:
            raise Refused(_("The event has no {name}.").format(name=name), field=name)
    for name in sent:
        if name not in names:
            raise Refused(
                _("Version {version} of the event has no field {name}.").format(
                    version=SCHEMA_VERSION, name=name
                ),
                field=name,
            )
    if sent["schema_version"] != SCHEMA_VERSION or isinstance(sent["schema_version"], bool):
        raise Refused(
            _(
                "The event has schema version {version}; this server reads "
                "{number}. Reload the scoring page on the device."
            ).format(version=sent["schema_version"], number=SCHEMA_VERSION),
            field="schema_version",
        )


def uuid_at(sent: Mapping[str, Any], name: str) -> uuid.UUID:
    """Return the UUID in the field ``name``."""
    try:
        return uuid.UUID(text_at(sent, name))
    except ValueError:
        raise Refused(
            _("The event's {name} is not a UUID.").format(name=name), field=name
        ) from None


def text_at(sent: Mapping[str, Any], name: str) -> str:
    """Return the text in the field ``name``."""
    value = sent[name]
    if not isinstance(value, str):
        raise Refused(_("The event's {name} must be text.").format(name=name), field=name)
    return value


def seq_of(value: object) -> int:
    """Return a sequence number: 1, 2, 3... inside an epoch."""
    if not isinstance(value, int) or isinstance(value, bool) or not 1 <= value <= LARGEST_SEQ:
        raise Refused(_("The event's seq must be a whole number from 1."), field="seq")
    return value


def subject_of(value: object) -> tuple[str, str]:
    """Return (kind, key) of what was looked at."""
    if not isinstance(value, dict) or set(value) != {"kind", "key"}:
        raise Refused(_("The event's subject must be {kind, key}."), field="subject")
    kind, key = value["kind"], value["key"]
    if kind not in Observation.Subject.values or not isinstance(key, str):
        raise Refused(
            _("The subject's kind is criterion or hold_point, its key text."), field="subject"
        )
    return kind, key


def _value(value: object) -> dict[str, Any]:
    if not isinstance(value, dict):
        raise Refused(_("The event's value must be an object."), field="value")
    return value


def _note(value: object) -> str:
    if not isinstance(value, str) or "\0" in value:
        raise Refused(_("The note must be text."), field="note")
    if len(value) > LONGEST_NOTE:
        raise Refused(
            _("The note has {count} characters: keep it to {most}.").format(
                count=len(value), most=LONGEST_NOTE
            ),
            field="note",
        )
    return value


def time_at(sent: Mapping[str, Any], name: str) -> datetime:
    """Return the moment in the field ``name``, with its offset."""
    value = sent[name]
    try:
        moment = datetime.fromisoformat(value) if isinstance(value, str) else None
    except ValueError:
        moment = None
    # The database cannot give back what lies at either end of the calendar.
    if moment is None or moment.tzinfo is None or not 1970 <= moment.year <= 9000:
        raise Refused(
            _(
                "The device's time must be ISO 8601 with its offset, such as "
                "2026-11-03T10:15:00-05:00."
            ),
            field=name,
        )
    return moment


def zone_of(value: object) -> str:
    """Return the name of a time zone."""
    try:
        if isinstance(value, str):
            return ZoneInfo(value).key
    except (ZoneInfoNotFoundError, ValueError, OSError):
        pass
    raise Refused(
        _("The device's time zone must be a name such as America/New_York."), field="device_zone"
    )
