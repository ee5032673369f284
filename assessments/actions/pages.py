"""Recording from a page of the server: the browser's session stands for the device."""

import uuid
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.contrib.sessions.backends.base import SessionBase
from django.db.models import Max
from django.utils import timezone

from assessments.actions.events import SCHEMA_VERSION
from assessments.actions.observations import SeqTaken, record_observation
from assessments.models import Attempt, Observation
from training.models import Person

RETRIES = 4


@dataclass(frozen=True)
class Entry:
    """What somebody sent from a page: ``id`` was made when the page was shown."""

    id: uuid.UUID
    kind: str
    key: str
    value: dict[str, Any]
    note: str
    replaces: uuid.UUID | None


@dataclass(frozen=True)
class Device:
    """A browser session as a device with one epoch."""

    device: str
    epoch: str


def device_of(session: SessionBase) -> Device:
    """Return the session's device, made at its first use."""
    for name in ("device", "epoch"):
        if name not in session:
            session[name] = str(uuid.uuid4())
    return Device(session["device"], session["epoch"])


def record_from_page(
    *,
    actor: Person,
    attempt: Attempt,
    device: Device,
    entry: Entry,
    at: datetime | None = None,
) -> Observation:
    """Record ``entry`` as the event that this session makes of it (see record_observation).

    A form sent twice is stored once. Unless it was scored ``at`` another moment, the server's
    clock stands in for the device's, in the site's time zone. Raises what record_observation
    raises.
    """
    for _ in range(RETRIES):
        try:
            return record_observation(actor=actor, event=_event(attempt, device, entry, at))
        except SeqTaken:
            continue  # another tab of this session was faster: take the number after it
    return record_observation(actor=actor, event=_event(attempt, device, entry, at))


def _event(attempt: Attempt, device: Device, entry: Entry, at: datetime | None) -> dict[str, Any]:
    return {
        "id": str(entry.id),
        "attempt": str(attempt.pk),
        "subject": {"kind": entry.kind, "key": entry.key},
        "value": entry.value,
        "note": entry.note,
        "replaces": str(entry.replaces) if entry.replaces else None,
        "standard_digest": attempt.standard.digest,
        "schema_version": SCHEMA_VERSION,
        **_sent_from(attempt, device, entry.id, at),
    }


def _sent_from(
    attempt: Attempt, device: Device, entry: uuid.UUID, at: datetime | None
) -> dict[str, Any]:
    """Return where and when it was sent; of a form sent again, what was stored then."""
    stored = Observation.objects.filter(pk=entry).first()
    if stored is not None:
        return {
            "device": str(stored.device),
            "epoch": str(stored.epoch),
            "seq": stored.seq,
            "device_time": stored.device_time.isoformat(),
            "device_zone": stored.device_zone,
        }
    last = Observation.objects.filter(epoch=device.epoch).aggregate(last=Max("seq"))["last"]
    return {
        "device": device.device,
        "epoch": device.epoch,
        "seq": (last or 0) + 1,
        "device_time": (at or timezone.now()).isoformat(),
        "device_zone": attempt.enrolment.run.site.time_zone,
    }
