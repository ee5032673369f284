"""Receiving batches: each event judged alone, none refused, none lost, none twice."""

import uuid

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from assessments.actions.observations import record_observation
from assessments.actions.site.batches import receive
from assessments.models import Attempt, Observation, Pack, Photo, SetAside
from tests.assessments.builders import GOOD, at_once, event, make_yard
from tests.assessments.site.builders import good, take_up, words
from training.actions.log import verify_log
from training.models import LogEntry


@pytest.mark.django_db
def test_a_batch_is_stored_as_the_single_events_would_be() -> None:
    device = take_up()
    events = good(device)
    results = receive(device.pack, events)
    assert [each.id for each in results] == [sent["id"] for sent in events]
    assert words(results) == [("stored", None)] * 5
    batched = Observation.objects.order_by("seq").values()
    assert [row["value"] for row in batched] == [GOOD[key] for key in sorted(GOOD)]
    # The same events by themselves: in another yard, so only ids and people differ.
    other = take_up()
    for sent in events:
        single = {
            **sent,
            "id": str(uuid.uuid4()),
            "epoch": other.epoch,
            "attempt": str(other.attempt.pk),
            "standard_digest": other.attempt.standard.digest,
        }
        record_observation(actor=other.yard.instructor, event=single)
    alike = ("subject_kind", "subject_key", "seq", "value", "note", "device", "device_time",
             "device_zone", "schema_version", "replaces_id")  # fmt: skip
    rows = [
        list(Observation.objects.filter(epoch=epoch).order_by("seq").values(*alike))
        for epoch in (device.epoch, other.epoch)
    ]
    assert rows[0] == rows[1]


@pytest.mark.django_db
def test_one_row_of_the_log_names_the_whole_batch() -> None:
    device = take_up()
    events = [*good(device), device.event("C9", {"level": 1})]
    receive(device.pack, events)
    row = LogEntry.objects.get(verb="pack.received")
    assert (row.actor, row.subject_id) == (device.yard.instructor, str(device.pack.pk))
    stored = Observation.objects.order_by("seq").values_list("pk", "content_digest")
    assert row.data["stored"] == [[str(pk), digest] for pk, digest in stored]
    kept = SetAside.objects.get()
    assert row.data["aside"] == [[events[-1]["id"], kept.content_digest, "unreadable"]]
    assert verify_log() is None
    # Nothing new: no row.
    receive(device.pack, events)
    assert LogEntry.objects.filter(verb="pack.received").count() == 1


@pytest.mark.django_db
def test_the_same_batch_twice_is_stored_once() -> None:
    device = take_up()
    events = good(device)
    receive(device.pack, events)
    assert words(receive(device.pack, events)) == [("already", None)] * 5
    # Also when the answer was lost and meanwhile the attempt was signed off, the assessor left.
    Attempt.objects.update(state="decided")
    device.yard.run.instructors.clear()
    assert words(receive(device.pack, events)) == [("already", None)] * 5
    assert Observation.objects.count() == 5
    assert not SetAside.objects.exists()


@pytest.mark.django_db
def test_an_event_twice_in_one_batch() -> None:
    device = take_up()
    sent = device.event("C1", {"level": 2})
    bad = device.event("C1", {"level": 9})
    results = receive(device.pack, [sent, sent, bad, bad])
    assert words(results) == [
        ("stored", None), ("already", None), ("aside", "unreadable"), ("aside", "unreadable"),
    ]  # fmt: skip
    assert SetAside.objects.count() == 1


@pytest.mark.django_db
def test_a_batch_that_was_half_sent_is_completed() -> None:
    device = take_up()
    events = good(device)
    receive(device.pack, events[:2])
    assert words(receive(device.pack, events)) == [("already", None)] * 2 + [("stored", None)] * 3


@pytest.mark.django_db
def test_corrections_follow_each_other_in_one_batch() -> None:
    device = take_up()
    first = device.event("C1", {"level": 0})
    second = device.event("C1", {"level": 1}, replaces=first["id"])
    undo = device.event("C1", {"cleared": True}, replaces=second["id"])
    again = device.event("C1", {"level": 2}, replaces=undo["id"])
    assert words(receive(device.pack, [first, second, undo, again])) == [("stored", None)] * 4
    current = Observation.objects.get(replaced_by__isnull=True)
    assert current.value == {"level": 2}


@pytest.mark.django_db
def test_two_devices_of_two_assessors() -> None:
    yard = make_yard()
    devices = take_up(yard), take_up(yard, yard.lead)
    for device in devices:
        assert words(receive(device.pack, good(device))) == [("stored", None)] * 5
    assert {row.assessor for row in Observation.objects.all()} == {yard.instructor, yard.lead}


@pytest.mark.django_db
def test_an_id_that_another_assessor_used_is_kept_aside() -> None:
    yard = make_yard()
    mine, other = take_up(yard), take_up(yard, yard.lead)
    sent = mine.event("C1", {"level": 2})
    receive(mine.pack, [sent])
    assert words(receive(other.pack, [sent])) == [("aside", "other_content")]
    assert Observation.objects.get().assessor == yard.instructor


@pytest.mark.django_db
def test_photographs_come_in_the_same_batch() -> None:
    device = take_up()
    sent = [device.photo("C1"), device.event("C1", {"level": 2}), device.photo("C9"),
            device.photo("C3", seq=2)]  # fmt: skip
    results = receive(device.pack, sent)
    assert words(results) == [
        ("stored", None), ("stored", None), ("aside", "unreadable"), ("aside", "seq_taken"),
    ]  # fmt: skip
    assert [str(row.pk) for row in Photo.objects.all()] == [sent[0]["id"]]
    assert words(receive(device.pack, sent[:1])) == [("already", None)]
    Attempt.objects.update(state="decided")
    assert words(receive(device.pack, [device.photo("C1")])) == [("aside", "signed_off")]
    assert verify_log() is None


@pytest.mark.django_db
def test_a_larger_batch_asks_no_more_questions() -> None:
    device = take_up()

    def queries(number: int) -> int:
        before = device.event("C1", {"level": 0})
        if Observation.objects.exists():
            before["replaces"] = str(Observation.objects.get(replaced_by__isnull=True).pk)
        events = [before]
        for _ in range(number - 1):
            events.append(device.event("C1", {"level": 1}, replaces=events[-1]["id"]))
        bad = [device.event("C9", {"level": 1}) for _ in range(number)]
        with CaptureQueriesContext(connection) as seen:
            results = receive(device.pack, events + bad)
        assert [each.result for each in results] == ["stored"] * number + ["aside"] * number
        return len(seen)

    assert queries(5) == queries(50)


@pytest.mark.django_db(transaction=True)
def test_the_same_batch_from_two_threads_is_stored_once() -> None:
    device = take_up()
    events = [*good(device), device.event("C9", {"level": 1})]
    pack = Pack.objects.select_related("run", "assessor").get(pk=device.pack.pk)
    results = at_once(lambda _: words(receive(pack, events)))
    answers = sorted(results, key=lambda each: each[0])
    assert answers[0] == [("already", None)] * 5 + [("aside", "unreadable")]
    assert answers[1] == [("stored", None)] * 5 + [("aside", "unreadable")]
    assert Observation.objects.count() == 5
    assert SetAside.objects.count() == 1
    assert LogEntry.objects.filter(verb="pack.received").count() == 1
    assert verify_log() is None


@pytest.mark.django_db(transaction=True)
def test_a_batch_and_the_desk_at_once_score_a_subject_once() -> None:
    device = take_up()
    events = good(device)
    desk = event(device.attempt, "C1", {"level": 0})
    pack = Pack.objects.select_related("run", "assessor").get(pk=device.pack.pk)

    def work(number: int) -> object:
        if number == 0:
            return words(receive(pack, events))
        try:
            return record_observation(actor=device.yard.instructor, event=desk)
        except Exception as refused:  # whichever comes second
            return refused

    batch, single = at_once(work)
    assert batch[1:] == [("stored", None)] * 4
    won = batch[0] == ("stored", None)
    assert won != isinstance(single, Observation)
    assert won or batch[0] == ("aside", "scored_already")
    assert Observation.objects.filter(subject_key="C1").count() == 1
    assert verify_log() is None


@pytest.mark.django_db
def test_an_empty_batch_is_answered_with_nothing() -> None:
    device = take_up()
    assert receive(device.pack, []) == []
    assert not LogEntry.objects.filter(verb="pack.received").exists()


@pytest.mark.django_db
def test_what_names_another_device_is_kept_aside() -> None:
    device = take_up()
    elsewhere = str(uuid.uuid4())
    sent = [device.event("C1", GOOD["C1"], device=elsewhere), device.photo("C1", device=elsewhere),
            device.event("C1", GOOD["C1"])]  # fmt: skip
    results = receive(device.pack, sent)
    assert words(results) == [("aside", "other_device")] * 2 + [("stored", None)]
    assert "another device" in str(results[0].sentence)
    assert SetAside.objects.filter(reason="other_device").count() == 2
    assert Observation.objects.get().device == device.pack.device
