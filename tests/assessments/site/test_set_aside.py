"""What cannot be taken in from a batch is kept aside whole, with its reason."""

import json
import uuid
from collections.abc import Callable
from typing import Any

import pytest

from assessments.actions.acceptance import NotTaken
from assessments.actions.observations import record_observation
from assessments.actions.site.batches import Result, receive
from assessments.actions.site.packs import take_pack
from assessments.models import Attempt, Observation, Pack, SetAside
from tests.assessments.builders import GOOD, event, make_yard, readings
from tests.assessments.site.builders import Device, good, take_up, words
from tests.factories import enrol, make_person, make_run
from training.actions.log import verify_log

Change = Callable[[Device, dict[str, Any]], dict[str, Any]]


def unknown_attempt(device: Device, sent: dict[str, Any]) -> dict[str, Any]:
    return {**sent, "attempt": str(uuid.uuid4())}


def not_of_run(device: Device, sent: dict[str, Any]) -> dict[str, Any]:
    run = make_run(device.yard.program, instructors=(device.yard.instructor,))
    enrol(run, make_person())
    take_pack(actor=device.yard.instructor, run=run, device=uuid.uuid4())
    return {**sent, "attempt": str(Attempt.objects.get(enrolment__run=run).pk)}


def no_authority(device: Device, sent: dict[str, Any]) -> dict[str, Any]:
    device.yard.run.instructors.clear()
    return sent


def signed_off(device: Device, sent: dict[str, Any]) -> dict[str, Any]:
    Attempt.objects.update(state="decided")
    return sent


def other_standard(device: Device, sent: dict[str, Any]) -> dict[str, Any]:
    return {**sent, "standard_digest": "f" * 64}


def schema_too_new(device: Device, sent: dict[str, Any]) -> dict[str, Any]:
    return {**sent, "schema_version": 2, "weather": "rain"}


def unknown_kind(device: Device, sent: dict[str, Any]) -> dict[str, Any]:
    return {**sent, "kind": "sketch"}


def unreadable(device: Device, sent: dict[str, Any]) -> dict[str, Any]:
    return {**sent, "value": {"level": 7}}


def misshapen(device: Device, sent: dict[str, Any]) -> dict[str, Any]:
    return {**sent, "seq": "one"}


def with_nul(device: Device, sent: dict[str, Any]) -> dict[str, Any]:
    value = readings(("1/8\0", "1/8", "in"), ("1/8", "1/8", "in"))
    return {**sent, "subject": {"kind": "criterion", "key": "C2"}, "value": value}


def half_a_character(device: Device, sent: dict[str, Any]) -> dict[str, Any]:
    return {**sent, "note": "\ud800"}


def endless(device: Device, sent: dict[str, Any]) -> dict[str, Any]:
    return {**sent, "value": {"level": json.loads("1e999")}}


def other_content(device: Device, sent: dict[str, Any]) -> dict[str, Any]:
    receive(device.pack, [sent])
    return {**sent, "value": {"level": 0}}


def corrected_meanwhile(device: Device, sent: dict[str, Any]) -> dict[str, Any]:
    receive(device.pack, [sent])
    receive(device.pack, [device.event("C1", {"level": 1}, replaces=sent["id"])])
    return device.event("C1", {"level": 0}, replaces=sent["id"])


def scored_already(device: Device, sent: dict[str, Any]) -> dict[str, Any]:
    other = Device(device.yard, take_up(device.yard).pack)
    receive(other.pack, [other.event("C1", {"level": 1})])
    return sent


def nothing_to_undo(device: Device, sent: dict[str, Any]) -> dict[str, Any]:
    return {**sent, "value": {"cleared": True}}


def seq_taken(device: Device, sent: dict[str, Any]) -> dict[str, Any]:
    receive(device.pack, [sent])
    return device.event("C5", GOOD["C5"], seq=sent["seq"])


def seq_of_a_photo(device: Device, sent: dict[str, Any]) -> dict[str, Any]:
    receive(device.pack, [device.photo("C1", seq=sent["seq"])])
    return sent


CASES: list[tuple[Change, str]] = [
    (unknown_attempt, "unknown_attempt"),
    (not_of_run, "not_of_run"),
    (no_authority, "no_authority"),
    (signed_off, "signed_off"),
    (other_standard, "other_standard"),
    (schema_too_new, "schema_too_new"),
    (unknown_kind, "unknown_kind"),
    (unreadable, "unreadable"),
    (misshapen, "unreadable"),
    (with_nul, "unreadable"),
    (half_a_character, "unreadable"),
    (endless, "unreadable"),
    (other_content, "other_content"),
    (corrected_meanwhile, "corrected_meanwhile"),
    (scored_already, "scored_already"),
    (nothing_to_undo, "nothing_to_undo"),
    (seq_taken, "seq_taken"),
    (seq_of_a_photo, "seq_taken"),
]
ALL_ASIDE = ("no_authority", "signed_off")  # these hit the good events of the batch as well


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("change", "reason"), CASES, ids=lambda each: getattr(each, "__name__", "")
)
def test_an_event_is_kept_aside_whole_with_its_reason(change: Change, reason: str) -> None:
    device = take_up()
    sent = change(device, device.event("C1", {"level": 2}))
    around = [device.event("C3", GOOD["C3"]), device.event("C4", GOOD["C4"])]
    results = receive(device.pack, [around[0], sent, around[1]])
    assert (results[1].id, results[1].result, results[1].reason) == (sent["id"], "aside", reason)
    assert results[1].sentence
    kept = SetAside.objects.get(event_id=sent["id"])
    assert (kept.reason, kept.sentence) == (reason, results[1].sentence)
    assert (kept.pack, kept.assessor) == (device.pack, device.yard.instructor)
    whole = json.loads(kept.body["json"]) if "json" in kept.body else kept.body
    assert whole == sent
    others = ("aside", reason) if reason in ALL_ASIDE else ("stored", None)
    assert words([results[0], results[2]]) == [others] * 2
    # The same once more: answered the same, kept once.
    assert receive(device.pack, [sent])[0] == Result(sent["id"], 0, "aside", reason, kept.sentence)
    assert SetAside.objects.filter(event_id=sent["id"]).count() == 1
    assert verify_log() is None


@pytest.mark.django_db
def test_what_the_database_cannot_hold_is_refused_at_its_field_by_itself_too() -> None:
    device = take_up()
    sent = with_nul(device, device.event("C2", GOOD["C2"]))
    with pytest.raises(NotTaken, match="NUL") as caught:
        record_observation(actor=device.yard.instructor, event=sent)
    assert (caught.value.reason, caught.value.field) == ("unreadable", "value")


@pytest.mark.django_db
def test_own_work_is_kept_aside() -> None:
    yard = make_yard()
    device = take_up(yard)
    own = enrol(yard.run, yard.instructor)
    take_pack(actor=yard.lead, run=yard.run, device=uuid.uuid4())
    attempt = Attempt.objects.select_related("standard").get(enrolment=own)
    sent = event(attempt, "C1", {"level": 2}, device=str(device.pack.device))
    assert words(receive(device.pack, [sent])) == [("aside", "no_authority")]


@pytest.mark.django_db
@pytest.mark.parametrize(
    "bad", [None, 7, "text", [], {}, {"id": 7}, {"id": ""}, {"id": "x" * 81}, {"id": "\0"}, 0.5]
)
def test_an_event_without_an_id_is_answered_by_its_place(bad: object) -> None:
    device = take_up()
    results = receive(device.pack, [device.event("C1", {"level": 2}), bad])
    assert words(results) == [("stored", None), ("aside", "unreadable")]
    answered = results[1].document()
    assert (answered["id"], answered["place"]) == (None, 1)
    assert "place" not in results[0].document()
    kept = SetAside.objects.get()
    assert kept.event_id == kept.content_digest
    assert (json.loads(kept.body["json"]) if "json" in kept.body else kept.body) == bad
    receive(device.pack, [bad])
    assert SetAside.objects.count() == 1


@pytest.mark.django_db
def test_what_happens_between_looking_and_storing_costs_only_its_own_event(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    device = take_up()
    events = good(device)
    bulk, raced = Observation.objects.bulk_create, []

    def late(rows: list[Observation]) -> Any:
        # Somebody scores C1 in a window at the desk after the batch was judged.
        raced.append(record_observation(actor=device.yard.instructor, event=desk))
        return bulk(rows)

    desk = event(device.attempt, "C1", {"level": 0})
    monkeypatch.setattr(Observation.objects, "bulk_create", late)
    results = receive(device.pack, events)
    # The savepoint took the desk's row back with it, so this time all of them fit.
    assert words(results) == [("stored", None)] * 5
    assert raced


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("statement", "reason"),
    [
        ("state", "signed_off"),
        ("first", "scored_already"),
        ("seq", "seq_taken"),
        ("same", None),
    ],
)
def test_what_the_database_refuses_is_kept_aside(
    statement: str, reason: str | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The queries are made blind to what stands, so that only the database can tell."""
    from assessments.actions.site import batches

    device = take_up()
    sent, fine = device.event("C1", {"level": 2}), device.event("C3", GOOD["C3"])
    looked = batches._known

    def blind(pack: Pack, each: Any) -> Any:
        known = looked(pack, each)
        known.current.clear()
        known.taken.clear()
        known.stored.clear()
        known.attempts[device.attempt.pk] = opened
        return known

    opened = looked(device.pack, [batches._read(device.pack, 0, sent)]).attempts[device.attempt.pk]
    if statement == "state":
        Attempt.objects.update(state="decided")
    elif statement == "first":
        receive(device.pack, [device.event("C1", {"level": 1})])
    elif statement == "seq":
        receive(device.pack, [device.event("C5", GOOD["C5"], seq=1)])
    else:
        receive(device.pack, [sent])
        sent = {**sent, "seq": 50}
        reason = "other_content"
    monkeypatch.setattr(batches, "_known", blind)
    results = receive(device.pack, [sent, fine])
    fine_too = ("aside", reason) if statement == "state" else ("stored", None)
    assert words(results) == [("aside", reason), fine_too]
    assert verify_log() is None
