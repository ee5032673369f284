"""A model of the devices on site and of the net between them and the server.

The devices keep the outbox's rules and no more: an event is saved before anything else happens;
one request is under way at a time; each goes with the token of its own assessor's pack; an event
is acknowledged only by a JSON answer that lists its id. The net may hold, double, reorder and
lose whatever is on it. The server is the real one, behind ``django.test.Client``.
"""

import json
import uuid
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any

from django.test import Client
from django.urls import reverse

from assessments.actions.site.packs import renew_pack, take_pack, token_of
from assessments.models import Attempt, Pack
from training.models import CourseRun, Person

EVENTS = "site_events"
NET = Client(enforce_csrf_checks=True)
START = datetime(2026, 11, 3, 15, 15, tzinfo=UTC)


@dataclass(eq=False)
class Saved:
    """An event in a device's store."""

    body: dict[str, Any]
    assessor: int
    sent: bool = False
    aside: bool = False
    packs: set[str] = field(default_factory=set)


@dataclass(eq=False)
class Request:
    """A batch on the net."""

    device: "Device"
    pack: str
    token: str
    events: list[Saved]

    def body(self) -> str:
        """Return the JSON that goes over the net."""
        return json.dumps({"pack": self.pack, "events": [saved.body for saved in self.events]})


@dataclass(eq=False)
class Answer:
    """What the server said to one arrival of a request."""

    request: Request
    status: int
    text: str

    def shortened(self, kept: int) -> "Answer":
        """Return the answer with at most its first ``kept`` results, if it has results."""
        if self.status != 200:
            return self
        results = json.loads(self.text)["results"]
        return Answer(self.request, self.status, json.dumps({"results": results[:kept]}))


@dataclass(eq=False)
class Device:
    """A device with its store and its outbox; shared by the assessors in ``packs``."""

    id: str
    limit: int
    packs: dict[int, dict[str, str]] = field(default_factory=dict)
    epoch: str = field(default_factory=lambda: str(uuid.uuid4()))
    store: list[Saved] = field(default_factory=list)
    clock: timedelta = timedelta(0)
    under_way: Request | None = None
    refused: set[int] = field(default_factory=set)

    def save(
        self, assessor: int, attempt: Attempt, subject: tuple[str, str], value: dict[str, Any]
    ) -> Saved:
        """Append what was scored, as a correction of what this device holds on the subject."""
        kind, key = subject
        before = self.current(assessor, attempt, subject)
        body = {
            "id": str(uuid.uuid4()),
            "attempt": str(attempt.pk),
            "device": self.id,
            "epoch": self.epoch,
            "seq": len(self.store) + 1,
            "subject": {"kind": kind, "key": key},
            "value": value,
            "note": "",
            "replaces": before,
            "device_time": (START + self.clock).isoformat(),
            "device_zone": "America/New_York",
            "standard_digest": attempt.standard.digest,
            "schema_version": 1,
        }
        saved = Saved(body, assessor)
        self.store.append(saved)
        return saved

    def current(self, assessor: int, attempt: Attempt, subject: tuple[str, str]) -> str | None:
        """Return the id of what this device knows to stand, for this assessor on the subject."""
        kind, key = subject
        mine = [
            saved.body["id"]
            for saved in self.store
            if saved.assessor == assessor
            and not saved.aside
            and saved.body["attempt"] == str(attempt.pk)
            and saved.body["subject"] == {"kind": kind, "key": key}
        ]
        return mine[-1] if mine else None

    def unsent(self) -> list[Saved]:
        """Return what no answer has acknowledged, in order."""
        return [saved for saved in self.store if not saved.sent]

    def send(self) -> Request | None:
        """Put the next batch under way; None where one is, or nothing can go."""
        waiting = [saved for saved in self.unsent() if saved.assessor not in self.refused]
        if self.under_way is not None or not waiting:
            return None
        assessor = waiting[0].assessor
        batch = [saved for saved in waiting if saved.assessor == assessor][: self.limit]
        pack = self.packs[assessor]
        for saved in batch:
            saved.packs.add(pack["id"])
        self.under_way = Request(self, pack["id"], pack["token"], batch)
        return self.under_way

    def receive(self, answer: Answer) -> None:
        """Take an answer in; one that is not JSON, or comes after giving up, acknowledges none."""
        if answer.request is not self.under_way:
            return
        self.under_way = None
        if answer.status == 401:
            self.refused.add(answer.request.events[0].assessor)
            return
        if answer.status != 200:
            return
        try:
            results = json.loads(answer.text)["results"]
        except ValueError:
            return
        listed = {result["id"]: result["result"] for result in results}
        for saved in answer.request.events:
            if saved.body["id"] in listed:
                saved.sent = True
                saved.aside = listed[saved.body["id"]] == "aside"

    def restart(self) -> None:
        """Reload, crash or give up waiting: the store stays, what was under way is forgotten."""
        self.under_way = None


def arrive(request: Request) -> Answer:
    """Let the server handle ``request``; return its answer, which may yet be lost."""
    response = NET.post(
        reverse(EVENTS),
        request.body(),
        content_type="application/json",
        headers={"authorization": f"Pack {request.token}"},
    )
    return Answer(request, response.status_code, response.content.decode())


def take(person: Person, run: CourseRun, device: str) -> dict[str, str]:
    """Take the run up onto the device as ``person``; return the pack's id and token."""
    pack = take_pack(actor=person, run=run, device=uuid.UUID(device))
    return {"id": str(pack.pk), "token": token_of(pack)}


def renew(person: Person, device: Device, assessor: int) -> None:
    """Renew the assessor's pack on the device."""
    held = device.packs[assessor]
    pack = renew_pack(actor=person, pack=Pack.objects.get(pk=held["id"]))
    device.packs[assessor] = {**held, "token": token_of(pack)}
    device.refused.discard(assessor)
