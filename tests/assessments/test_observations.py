"""Recording scored facts: once, under the right standard, corrected and never changed."""

import uuid
from typing import Any

import pytest
from django.contrib.sessions.backends.cache import SessionStore
from django.core.exceptions import PermissionDenied

from assessments.actions import pages
from assessments.actions.events import FIELDS
from assessments.actions.observations import OtherContent, SeqTaken, record_observation
from assessments.actions.pages import Device, Entry, device_of, record_from_page
from assessments.models import Attempt, Observation
from assessments.queries.attempts import observations_document
from tests.assessments.builders import GOOD, at_once, event, make_yard, readings
from training.errors import Refused
from training.models import LogEntry


@pytest.mark.django_db
@pytest.mark.parametrize("key", sorted(GOOD))
def test_a_fact_of_each_kind_is_stored_as_sent(key: str) -> None:
    yard = make_yard()
    attempt = yard.attempt()
    sent = event(attempt, key, GOOD[key], note="North end of the sill")
    stored = record_observation(actor=yard.instructor, event=sent)
    stored.refresh_from_db()
    assert stored.pk == uuid.UUID(sent["id"])
    assert stored.value == GOOD[key]
    assert stored.note == "North end of the sill"
    assert stored.assessor == yard.instructor
    assert stored.device_time.isoformat() == "2026-11-03T15:15:00+00:00"
    assert stored.device_zone == "America/New_York"
    row = LogEntry.objects.get(verb="observation.recorded")
    assert row.data["content_digest"] == stored.content_digest


@pytest.mark.django_db
def test_a_hold_point_is_accepted_only_where_the_standard_has_one() -> None:
    yard = make_yard()
    attempt = yard.attempt()
    sent = event(attempt, "fit", {"accepted": True}, kind="hold_point")
    assert record_observation(actor=yard.instructor, event=sent).subject_kind == "hold_point"
    sent = event(attempt, "set", {"accepted": True}, kind="hold_point")
    with pytest.raises(Refused, match="no hold point set"):
        record_observation(actor=yard.instructor, event=sent)


@pytest.mark.django_db
def test_the_same_event_again_returns_what_is_stored() -> None:
    yard = make_yard()
    attempt = yard.attempt()
    sent = event(attempt, "C1", {"level": 2})
    first = record_observation(actor=yard.instructor, event=sent)
    again = record_observation(actor=yard.instructor, event=dict(reversed(sent.items())))
    assert first == again
    assert Observation.objects.count() == 1
    # Also after the sign-off: a device that lost the answer may ask again.
    Attempt.objects.update(state="decided")
    assert record_observation(actor=yard.instructor, event=sent) == first


@pytest.mark.django_db
@pytest.mark.parametrize("field", ["value", "note", "seq", "device_time"])
def test_the_same_id_with_other_content_is_refused_and_kept(field: str) -> None:
    yard = make_yard()
    attempt = yard.attempt()
    sent = event(attempt, "C1", {"level": 2})
    stored = record_observation(actor=yard.instructor, event=sent)
    other = {
        "value": {"level": 0},
        "note": "changed",
        "seq": 7,
        "device_time": "2026-11-03T10:16:00-05:00",
    }[field]
    with pytest.raises(OtherContent, match="kept in the log") as caught:
        record_observation(actor=yard.instructor, event={**sent, field: other})
    assert caught.value.field == "id"
    stored.refresh_from_db()
    assert stored.value == {"level": 2}
    kept = LogEntry.objects.get(verb="observation.clashed")
    assert kept.subject_id == str(stored.pk)
    assert kept.data["received"][field] == other


@pytest.mark.django_db
def test_a_second_first_score_is_refused() -> None:
    yard = make_yard()
    attempt = yard.attempt()
    record_observation(actor=yard.instructor, event=event(attempt, "C1", {"level": 2}))
    with pytest.raises(Refused, match="scored already") as caught:
        record_observation(actor=yard.instructor, event=event(attempt, "C1", {"level": 1}))
    assert caught.value.field == "replaces"
    # Another assessor scores the same criterion for the first time.
    record_observation(actor=yard.lead, event=event(attempt, "C1", {"level": 1}))
    assert Observation.objects.count() == 2


@pytest.mark.django_db
def test_a_correction_replaces_the_current_one_only() -> None:
    yard = make_yard()
    attempt = yard.attempt()

    def send(value: dict[str, Any], replaces: object) -> Observation:
        sent = event(attempt, "C1", value, replaces=replaces)
        return record_observation(actor=yard.instructor, event=sent)

    first = record_observation(actor=yard.instructor, event=event(attempt, "C1", {"level": 0}))
    second = send({"level": 1}, str(first.pk))
    assert second.replaces == first
    with pytest.raises(Refused, match="corrected meanwhile"):
        send({"level": 2}, str(first.pk))
    with pytest.raises(Refused, match="corrected meanwhile"):
        send({"level": 2}, str(uuid.uuid4()))
    third = send({"cleared": True}, str(second.pk))
    assert send({"level": 2}, str(third.pk)).value == {"level": 2}
    assert LogEntry.objects.filter(verb="observation.corrected").count() == 3


@pytest.mark.django_db
def test_nobody_corrects_what_another_assessor_saw() -> None:
    yard = make_yard()
    attempt = yard.attempt()
    first = record_observation(actor=yard.instructor, event=event(attempt, "C1", {"level": 0}))
    sent = event(attempt, "C1", {"level": 2}, replaces=str(first.pk))
    with pytest.raises(Refused, match="corrected meanwhile"):
        record_observation(actor=yard.lead, event=sent)


@pytest.mark.django_db
def test_nothing_to_undo() -> None:
    yard = make_yard()
    sent = event(yard.attempt(), "C1", {"cleared": True})
    with pytest.raises(Refused, match="nothing to undo"):
        record_observation(actor=yard.instructor, event=sent)


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("C1", {"level": 3}),
        ("C1", {"level": True}),
        ("C1", {"level": 1, "more": 1}),
        ("C1", {"not_applicable": True, "reason": "no joint"}),
        ("C2", readings(("x", "1/8", "kg"), ("y", "1/8", "in"))),
        ("C2", readings(("-1", "-1", "in"), ("y", "1/8", "in"))),
        ("C3", {"answer": "yes"}),
        ("C4", {"count": -1}),
        ("C4", {"not_applicable": True, "reason": " "}),
        ("C5", {"start": "2026-11-03T09:00:00", "end": "2026-11-03T09:20:00"}),
        ("C9", {"level": 1}),
    ],
)
def test_a_value_that_the_criterion_cannot_have_is_refused(
    key: str, value: dict[str, object]
) -> None:
    yard = make_yard()
    sent = event(yard.attempt(), key, value)
    with pytest.raises(Refused) as caught:
        record_observation(actor=yard.instructor, event=sent)
    assert caught.value.field == "value"
    assert not Observation.objects.exists()


@pytest.mark.django_db
def test_a_float_is_refused() -> None:
    yard = make_yard()
    sent = event(yard.attempt(), "C4", {"count": 1.5})
    with pytest.raises(Refused, match="text"):
        record_observation(actor=yard.instructor, event=sent)


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("id", "17"),
        ("seq", 0),
        ("seq", True),
        ("seq", "1"),
        ("device_time", "2026-11-03T10:15:00"),
        ("device_time", "yesterday"),
        ("device_zone", "Port Ellery"),
        ("device_zone", 5),
        ("schema_version", 2),
        ("subject", "C1"),
        ("subject", {"kind": "stage", "key": "fit"}),
        ("value", [2]),
        ("note", None),
        ("note", "x" * 2001),
        ("replaces", 3),
        ("standard_digest", "f" * 64),
    ],
)
def test_a_wrong_shape_is_refused_at_its_field(field: str, value: object) -> None:
    yard = make_yard()
    sent = event(yard.attempt(), "C1", {"level": 2})
    with pytest.raises(Refused) as caught:
        record_observation(actor=yard.instructor, event={**sent, field: value})
    assert caught.value.field == field


@pytest.mark.django_db
def test_every_field_is_needed_and_no_other_known() -> None:
    yard = make_yard()
    sent = event(yard.attempt(), "C1", {"level": 2})
    for name in FIELDS:
        with pytest.raises(Refused, match=f"has no {name}"):
            record_observation(
                actor=yard.instructor, event={k: v for k, v in sent.items() if k != name}
            )
    with pytest.raises(Refused, match="no field weather"):
        record_observation(actor=yard.instructor, event={**sent, "weather": "fair"})


@pytest.mark.django_db
def test_only_assessors_of_the_run_record() -> None:
    yard = make_yard()
    other = make_yard()
    sent = event(yard.attempt(), "C1", {"level": 2})
    for person in (yard.trainee, other.instructor, other.lead):
        with pytest.raises(PermissionDenied):
            record_observation(actor=person, event=sent)
    assert not Observation.objects.exists()


@pytest.mark.django_db
def test_a_decided_attempt_takes_nothing_more() -> None:
    yard = make_yard()
    attempt = yard.attempt()
    Attempt.objects.update(state="decided")
    with pytest.raises(Refused, match="signed off"):
        record_observation(actor=yard.instructor, event=event(attempt, "C1", {"level": 2}))


@pytest.mark.django_db
def test_a_taken_sequence_number_is_named_as_such() -> None:
    yard = make_yard()
    attempt = yard.attempt()
    first = event(attempt, "C1", {"level": 2})
    record_observation(actor=yard.instructor, event=first)
    sent = event(attempt, "C3", {"answer": True}, epoch=first["epoch"])
    with pytest.raises(SeqTaken):
        record_observation(actor=yard.instructor, event=sent)


@pytest.mark.django_db
def test_the_document_holds_every_correction() -> None:
    yard = make_yard()
    attempt = yard.attempt()
    first = record_observation(actor=yard.instructor, event=event(attempt, "C1", {"level": 0}))
    sent = event(attempt, "C1", {"level": 2}, replaces=str(first.pk), note="looked again")
    second = record_observation(actor=yard.instructor, event=sent)
    document = observations_document(attempt)
    assert document["schema"] == "bankermark/observations/1"
    assert [(row["id"], row["replaces"]) for row in document["observations"]] == [
        (str(first.pk), None),
        (str(second.pk), str(first.pk)),
    ]
    assert document["observations"][1]["note"] == "looked again"
    assert document["observations"][1]["assessor"] == str(yard.instructor.pk)


@pytest.mark.django_db
def test_a_session_counts_its_events_and_stores_a_form_once() -> None:
    yard = make_yard()
    attempt = yard.attempt()
    session = SessionStore()
    device = device_of(session)
    assert device_of(session) == device

    def send(key: str, entry_id: uuid.UUID, note: str = "") -> Observation:
        entry = Entry(entry_id, "criterion", key, dict(GOOD[key]), note, None)
        return record_from_page(actor=yard.instructor, attempt=attempt, device=device, entry=entry)

    form = uuid.uuid4()
    first = send("C1", form)
    assert send("C1", form) == first
    second = send("C3", uuid.uuid4())
    assert (first.seq, second.seq) == (1, 2)
    assert first.epoch == second.epoch
    assert first.device_zone == "America/New_York"
    with pytest.raises(OtherContent):
        send("C1", form, note="other")


@pytest.mark.faults
@pytest.mark.django_db(transaction=True)
def test_the_same_event_twice_at_once_is_stored_once() -> None:
    yard = make_yard()
    attempt = yard.attempt()
    sent = event(attempt, "C1", {"level": 2})
    results = at_once(lambda _: record_observation(actor=yard.instructor, event=sent).pk)
    assert results == [uuid.UUID(sent["id"])] * 2
    assert Observation.objects.count() == 1


@pytest.mark.faults
@pytest.mark.django_db(transaction=True)
def test_two_contents_under_one_id_at_once_keep_one() -> None:
    yard = make_yard()
    attempt = yard.attempt()
    sent = event(attempt, "C1", {"level": 2})

    def send(number: int) -> object:
        try:
            return record_observation(
                actor=yard.instructor, event={**sent, "value": {"level": number}}
            ).value
        except OtherContent:
            return "refused"

    results = at_once(send)
    assert results.count("refused") == 1
    assert Observation.objects.get().value in results
    assert LogEntry.objects.filter(verb="observation.clashed").count() == 1


@pytest.mark.django_db
def test_a_number_taken_by_another_tab_is_passed_over(monkeypatch: pytest.MonkeyPatch) -> None:
    yard = make_yard()
    attempt = yard.attempt()
    device = Device(str(uuid.uuid4()), str(uuid.uuid4()))
    read = pages._sent_from
    numbers: list[int] = []

    def late(*args: Any) -> dict[str, Any]:
        """Answer once as if the other tab had not been stored yet."""
        sent = read(*args)
        numbers.append(sent["seq"])
        return {**sent, "seq": 1} if len(numbers) == 2 else sent

    monkeypatch.setattr(pages, "_sent_from", late)
    seqs = [
        record_from_page(
            actor=yard.instructor,
            attempt=attempt,
            device=device,
            entry=Entry(uuid.uuid4(), "criterion", key, dict(GOOD[key]), "", None),
        ).seq
        for key in ("C1", "C3")
    ]
    assert seqs == [1, 2]
    assert len(numbers) == 3


@pytest.mark.faults
@pytest.mark.django_db(transaction=True)
def test_two_tabs_of_a_session_take_different_numbers() -> None:
    yard = make_yard()
    attempt = yard.attempt()
    device = Device(str(uuid.uuid4()), str(uuid.uuid4()))

    def send(number: int) -> int:
        key = ("C1", "C3")[number]
        entry = Entry(uuid.uuid4(), "criterion", key, dict(GOOD[key]), "", None)
        return record_from_page(
            actor=yard.instructor, attempt=attempt, device=device, entry=entry
        ).seq

    assert sorted(at_once(send)) == [1, 2]
