"""What may befall devices and the net, as rules; what must hold after all of it."""

import json
import uuid
from collections.abc import Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from datetime import timedelta
from typing import Any, ClassVar

import hypothesis.strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, precondition, rule

from assessments.actions.attempts import start_attempt
from assessments.actions.decisions import sign_off
from assessments.models import Attempt, Observation, Pack, SetAside
from tests.assessments.builders import Yard, make_yard
from tests.factories import enrol, make_person, make_role, make_run
from tests.faults.model import Answer, Device, Request, Saved, arrive, renew, take
from tests.faults.poison import POISONS, poisoned
from training.errors import Refused
from training.models import LogEntry, Person, Role

Scored = tuple[tuple[str, str], dict[str, Any]]
SCORES: list[Scored] = [
    *((("criterion", "C1"), {"level": level}) for level in range(3)),
    (("criterion", "C3"), {"answer": True}),
    (("criterion", "C3"), {"answer": False}),
    (("criterion", "C4"), {"count": 2}),
    (("criterion", "C4"), {"not_applicable": True, "reason": "No void to sound"}),
    (("hold_point", "fit"), {"accepted": True}),
]
ANY = st.integers(0, 11)


@dataclass(frozen=True)
class Ground:
    """What the histories between two emptyings share: people and a sealed standard."""

    yard: Yard
    assessors: tuple[Person, Person]
    trainees: tuple[Person, Person]


def make_ground() -> Ground:
    """Return two assessors and two trainees of one yard."""
    yard = make_yard()
    second = make_role(Role.Kind.INSTRUCTOR, yard.provider)
    return Ground(yard, (yard.instructor, second), (yard.trainee, make_person()))


class Scaffold(RuleBasedStateMachine):
    """Two assessors, two trainees, two devices: the first device is shared by both assessors.

    Each history has a run of its own, with its attempts, packs and devices, in a database that
    really commits. ``ground`` is set before the first.
    """

    ground: ClassVar[Ground]

    def __init__(self) -> None:
        super().__init__()
        self.assessors = self.ground.assessors
        self.run = make_run(self.ground.yard.program, instructors=self.assessors)
        self.attempts = [
            start_attempt(actor=self.assessors[0], enrolment=enrol(self.run, person))
            for person in self.ground.trainees
        ]
        self.devices = [Device(str(uuid.uuid4()), 3), Device(str(uuid.uuid4()), 2)]
        for device, who in ((0, 0), (0, 1), (1, 0)):
            self.take(self.devices[device], who)
        self.net: list[Request] = []
        self.answers: list[Answer] = []
        self.stormy = True
        self.absent: set[int] = set()  # assessors without authority
        self.expired = False
        self.log_before = LogEntry.objects.order_by("-seq").first()

    def take(self, device: Device, who: int) -> None:
        device.packs[who] = take(self.assessors[who], self.run, device.id)

    @initialize(stormy=st.booleans())
    def choose_weather(self, stormy: bool) -> None:
        """While only net, clocks and browsers misbehave, all is taken in: nothing is set aside."""
        self.stormy = stormy

    @rule(which=ANY, who=ANY, attempt=ANY, score=st.sampled_from(SCORES))
    def score(self, which: int, who: int, attempt: int, score: Scored) -> None:
        device = self.devices[which % 2]
        (kind, key), value = score
        assessor = who % len(device.packs)
        piece = self._piece(which, assessor, attempt)
        for _ in range(1 + attempt % 3):
            device.save(assessor, piece, (kind, key), value)

    @rule(which=ANY, attempt=ANY)
    def undo(self, which: int, attempt: int) -> None:
        device = self.devices[which % 2]
        under = self._piece(which, 0, attempt)
        if device.current(0, under, ("criterion", "C1")) is not None:
            device.save(0, under, ("criterion", "C1"), {"cleared": True})

    @precondition(lambda self: self.stormy)
    @rule(which=ANY, kind=st.sampled_from(sorted(POISONS)))
    def poison(self, which: int, kind: str) -> None:
        device = self.devices[which % 2]
        saved = device.save(0, self.attempts[0], ("criterion", "C5"), {"count": 0})
        saved.body = poisoned(saved.body, kind)

    @precondition(lambda self: self.stormy and self.devices[0].store)
    @rule(which=ANY, value=st.booleans())
    def copy_an_id(self, which: int, value: bool) -> None:
        """The other device uses an id of the first, as after a copied profile."""
        copied = self.devices[0].store[which % len(self.devices[0].store)].body["id"]
        saved = self.devices[1].save(0, self.attempts[1], ("criterion", "C3"), {"answer": value})
        saved.body = {**saved.body, "id": copied}

    @rule(which=ANY)
    def send(self, which: int) -> None:
        request = self.devices[which % 2].send()
        if request is not None:
            self.net.append(request)

    @rule(which=ANY, fate=st.sampled_from(["well", "twice", "answer lost", "request lost"]))
    def exchange(self, which: int, fate: str) -> None:
        """A whole exchange at once, so that most histories have several."""
        device = self.devices[which % 2]
        request = device.send()
        if request is None:
            return
        if fate != "request lost":
            answer = arrive(request)
        if fate == "twice":
            answer = arrive(request)
        if fate in ("well", "twice"):
            device.receive(answer)
        else:
            device.restart()

    @precondition(lambda self: self.net)
    @rule(which=ANY, again=st.booleans())
    def request_arrives(self, which: int, again: bool) -> None:
        """In any order; with ``again`` a copy stays on the net and comes once more."""
        request = self.net[which % len(self.net)]
        if not again:
            self.net.remove(request)
        self.answers.append(arrive(request))

    @precondition(lambda self: self.net)
    @rule(which=ANY)
    def request_is_lost(self, which: int) -> None:
        self.net.pop(which % len(self.net))

    @precondition(lambda self: self.answers)
    @rule(which=ANY)
    def answer_arrives(self, which: int) -> None:
        answer = self.answers.pop(which % len(self.answers))
        answer.request.device.receive(answer)

    @precondition(lambda self: self.answers)
    @rule(which=ANY)
    def answer_is_lost(self, which: int) -> None:
        """After the server committed; the device gives up waiting."""
        self.answers.pop(which % len(self.answers)).request.device.restart()

    @precondition(lambda self: self.answers)
    @rule(which=ANY, kept=ANY)
    def answer_arrives_in_part(self, which: int, kept: int) -> None:
        answer = self.answers.pop(which % len(self.answers))
        answer.request.device.receive(answer.shortened(kept))

    @precondition(lambda self: any(device.under_way for device in self.devices))
    @rule(which=ANY, status=st.sampled_from([200, 302, 500, 502, 429]))
    def somebody_else_answers(self, which: int, status: int) -> None:
        """A proxy's error page, or the login page of a guest network with 200."""
        device = self.devices[which % 2]
        if device.under_way is not None:
            device.receive(Answer(device.under_way, status, "<!doctype html><title>Welcome"))

    @rule(which=ANY)
    def restart(self, which: int) -> None:
        self.devices[which % 2].restart()

    @rule(which=ANY, days=st.sampled_from([-4000, -1, 1, 4000]))
    def clock_jumps(self, which: int, days: int) -> None:
        self.devices[which % 2].clock = timedelta(days=days)

    @rule(which=ANY)
    def pack_expires(self, which: int) -> None:
        packs = [pack for device in self.devices for pack in device.packs.values()]
        stored = Pack.objects.get(pk=packs[which % len(packs)]["id"])
        length = stored.expires_at - stored.taken_at
        expired = stored.taken_at - timedelta(days=400)
        Pack.objects.filter(pk=stored.pk).update(taken_at=expired, expires_at=expired + length)
        self.expired = True

    @rule(which=ANY, who=ANY)
    def renew(self, which: int, who: int) -> None:
        device = self.devices[which % 2]
        assessor = who % len(device.packs)
        renew(self.assessors[assessor], device, assessor)

    @precondition(lambda self: self.stormy)
    @rule(who=ANY)
    def lose_authority(self, who: int) -> None:
        self.run.instructors.remove(self.assessors[who % 2])
        self.absent.add(who % 2)

    @precondition(lambda self: self.absent)
    @rule()
    def regain_authority(self) -> None:
        self.run.instructors.add(*(self.assessors[who] for who in self.absent))
        self.absent.clear()

    @precondition(lambda self: self.stormy)
    @rule(which=ANY)
    def sign_off(self, which: int) -> None:
        attempt = Attempt.objects.get(pk=self.attempts[which % 2].pk)
        if attempt.state == Attempt.State.OPEN:
            try:
                sign_off(
                    actor=self.ground.yard.lead,
                    attempt=attempt,
                    password_checked=True,
                    note="Closed at the end of the day",
                )
            except Refused:
                return

    def teardown(self) -> None:
        """Let what is on the net arrive, mend what can be mended, drain, and count."""
        for request in self.net:
            arrive(request)
        if self.absent:
            self.regain_authority()
        for device in self.devices:
            device.restart()
            if self.expired:
                for who in device.packs:
                    renew(self.assessors[who], device, who)
            self._drain(device)
            assert device.unsent() == []
        _on_the_server_once([saved for device in self.devices for saved in device.store])
        if not self.stormy:
            ids = [saved.body["id"] for device in self.devices for saved in device.store]
            assert not SetAside.objects.filter(event_id__in=ids).exists()
        self._log_holds()

    def _piece(self, which: int, assessor: int, attempt: int) -> Attempt:
        """In a storm one assessor scores the same piece on both devices, which cannot stand."""
        if self.stormy or assessor == 1:
            return self.attempts[attempt % 2]
        return self.attempts[which % 2]

    def _drain(self, device: Device) -> None:
        for _ in range(len(device.store) + 1):
            request = device.send()
            if request is None:
                return
            answer = arrive(request)
            assert answer.status == 200, answer.text
            device.receive(answer)

    def _log_holds(self) -> None:
        """The links of this history; the digests of all rows are checked once, at the end."""
        before = self.log_before
        assert before is not None
        previous, seq = before.digest, before.seq
        for row in LogEntry.objects.filter(seq__gt=before.seq).order_by("seq"):
            assert (row.seq, row.previous) == (seq + 1, previous)
            previous, seq = row.digest, row.seq


def _on_the_server_once(store: list[Saved]) -> None:
    """Each event is an observation or kept aside, never both, with all that was saved."""
    observed = Observation.objects.in_bulk(_uuids(saved.body["id"] for saved in store))
    packs = {uuid.UUID(pack) for saved in store for pack in saved.packs}
    aside = list(SetAside.objects.filter(pack__in=packs))
    for saved in store:
        body = saved.body
        row = observed.get(next(_uuids([body["id"]]), uuid.UUID(int=0)))
        stands = row is not None and _as_sent(row) == _facts(body)
        # What PostgreSQL's JSON cannot hold is kept as text.
        kept_as = (body, {"json": json.dumps(body)})
        kept = [each for each in aside if str(each.pack_id) in saved.packs and each.body in kept_as]
        assert stands + len(kept) == 1, f"{body}: {row} {kept}"
        assert all(each.reason and each.sentence for each in kept)


def _uuids(texts: Iterable[str]) -> Iterator[uuid.UUID]:
    for text in texts:
        with suppress(ValueError):
            yield uuid.UUID(text)


def _as_sent(row: Observation) -> tuple[object, ...]:
    return str(row.epoch), row.seq, str(row.attempt_id), row.subject_key, row.value, row.note


def _facts(body: dict[str, Any]) -> tuple[object, ...]:
    subject = body["subject"] or {}
    names = ("epoch", "seq", "attempt")
    return (*(body[name] for name in names), subject.get("key"), body["value"], body["note"])
