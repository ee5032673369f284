"""The event in which a device says that it took a photograph, read strictly.

A JSON object with exactly these fields: ``kind`` (photo), ``id``, ``attempt``, ``device``,
``epoch`` (UUIDs as text), ``seq``, ``subject`` {kind: criterion | hold_point, key}, ``sha256``
(lowercase hex, of the bytes), ``size`` (bytes), ``width``, ``height`` (pixels), ``claimed_at``
(when it was taken, as the device says), ``device_time`` (when the event was made; both ISO 8601
with offset), ``device_zone``, ``standard_digest`` and ``schema_version`` (1).
"""

import re
import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.utils.translation import gettext as _

from assessments.actions.events import (
    check_fields,
    seq_of,
    subject_of,
    text_at,
    time_at,
    uuid_at,
    zone_of,
)
from assessments.photographs import LARGEST_BYTES, LONGEST_SIDE
from training.digests import FORM
from training.errors import Refused

KIND = "photo"
FIELDS = (
    "kind",
    "id",
    "attempt",
    "device",
    "epoch",
    "seq",
    "subject",
    "sha256",
    "size",
    "width",
    "height",
    "claimed_at",
    "device_time",
    "device_zone",
    "standard_digest",
    "schema_version",
)


@dataclass(frozen=True, slots=True)
class PhotoEvent:
    """A photograph as a device announced it, every field of the right shape."""

    id: uuid.UUID
    attempt: uuid.UUID
    device: uuid.UUID
    epoch: uuid.UUID
    seq: int
    subject_kind: str
    subject_key: str
    sha256: str
    size: int
    width: int
    height: int
    claimed_at: datetime
    device_zone: str
    standard_digest: str


def read_photo_event(sent: Mapping[str, Any]) -> PhotoEvent:
    """Return the event; raise Refused, naming the field, where its shape is wrong."""
    check_fields(sent, FIELDS)
    if sent["kind"] != KIND:
        raise Refused(_("The event's kind must be {kind}.").format(kind=KIND), field="kind")
    kind, key = subject_of(sent["subject"])
    time_at(sent, "device_time")
    return PhotoEvent(
        id=uuid_at(sent, "id"),
        attempt=uuid_at(sent, "attempt"),
        device=uuid_at(sent, "device"),
        epoch=uuid_at(sent, "epoch"),
        seq=seq_of(sent["seq"]),
        subject_kind=kind,
        subject_key=key,
        sha256=check_sha256(text_at(sent, "sha256")),
        size=_whole(sent, "size", LARGEST_BYTES),
        width=_whole(sent, "width", LONGEST_SIDE),
        height=_whole(sent, "height", LONGEST_SIDE),
        claimed_at=time_at(sent, "claimed_at"),
        device_zone=zone_of(sent["device_zone"]),
        standard_digest=text_at(sent, "standard_digest"),
    )


def check_sha256(text: str) -> str:
    """Return ``text`` where it has the form of a SHA-256 digest; raise Refused otherwise."""
    if re.fullmatch(FORM, text) is None:
        raise Refused(_("The photograph's sha256 must be 64 lowercase hex digits."), field="sha256")
    return text


def _whole(sent: Mapping[str, Any], name: str, largest: int) -> int:
    value = sent[name]
    if not isinstance(value, int) or isinstance(value, bool) or not 1 <= value <= largest:
        raise Refused(
            _("The photograph's {name} must be a whole number from 1 to {largest}.").format(
                name=name, largest=largest
            ),
            field=name,
        )
    return value
