"""A run taken up on a device, and the events that it sends; all invented."""

import uuid
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from assessments.actions.site.batches import Result
from assessments.actions.site.packs import take_pack
from assessments.models import Attempt, Pack
from tests.assessments.builders import GOOD, Yard, event, make_yard
from training.models import Person


@dataclass
class Device:
    """A device with one pack, which numbers what it stores from 1."""

    yard: Yard
    pack: Pack
    epoch: str = field(default_factory=lambda: str(uuid.uuid4()))
    seq: int = 0

    @property
    def attempt(self) -> Attempt:
        """The trainee's attempt."""
        return Attempt.objects.select_related("standard").get(enrolment=self.yard.enrolment)

    def event(self, key: str, value: Mapping[str, object], **changes: object) -> dict[str, Any]:
        """Return the next event of this device."""
        self.seq += 1
        numbered = {"device": str(self.pack.device), "epoch": self.epoch, "seq": self.seq}
        return event(self.attempt, key, value, **{**numbered, **changes})

    def photo(self, key: str, **changes: object) -> dict[str, Any]:
        """Return the event of a photograph of a criterion."""
        scored = self.event(key, {})
        shared = {
            name: scored[name]
            for name in scored
            if name not in ("value", "note", "replaces", "device_time")
        }
        moment = "2026-11-03T10:15:00-05:00"
        told = {"sha256": "a" * 64, "size": 1000, "width": 1600, "height": 1200}
        times = {"claimed_at": moment, "device_time": moment}
        return {"kind": "photo", **shared, **told, **times, **changes}


def take_up(yard: Yard | None = None, assessor: Person | None = None) -> Device:
    """Return a device on which the run of ``yard`` was taken up."""
    yard = yard or make_yard()
    actor = assessor or yard.instructor
    pack = take_pack(actor=actor, run=yard.run, device=uuid.uuid4())
    return Device(yard, pack)


def words(results: list[Result]) -> list[tuple[str, str | None]]:
    """Return what became of each event, and why."""
    return [(each.result, each.reason) for each in results]


def good(device: Device) -> list[dict[str, Any]]:
    """Return an event of each kind, one after the other."""
    return [device.event(key, GOOD[key]) for key in sorted(GOOD)]
