"""The page of a run's devices, and answering what was set aside."""

import uuid
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from assessments.actions.decisions import sign_off
from assessments.actions.observations import record_observation
from assessments.actions.site.answers import answer_set_aside
from assessments.actions.site.batches import receive
from assessments.models import Observation, Photo, SetAside, SetAsideAnswer
from tests.assessments.builders import GOOD, Yard, event, make_yard, score_all
from tests.assessments.site.events import make_pack, photo_event, put, scored, signed_in
from tests.assessments.site.pictures import jpeg
from tests.factories import make_role
from training.errors import Refused
from training.models import LogEntry, Role

pytestmark = pytest.mark.django_db


@pytest.fixture
def yard() -> Yard:
    return make_yard()


def devices_page(yard: Yard) -> str:
    return signed_in(yard.lead).get(reverse("run_devices", args=[yard.run.pk])).content.decode()


def aside(yard: Yard, *events: Any) -> list[SetAside]:
    """Send ``events`` with a pack of the yard; return what was set aside of them."""
    results = receive(make_pack(yard), list(events))
    assert {each.result for each in results} == {"aside"}
    return list(SetAside.objects.order_by("pk"))


def scored_twice(yard: Yard) -> tuple[Observation, SetAside]:
    """Return what the instructor gave at the desk, and what came of the device beside it."""
    attempt = yard.attempt()
    stands = record_observation(
        actor=yard.instructor, event=event(attempt, "C1", {"level": 0}, note="at the desk")
    )
    return stands, aside(yard, scored(attempt, "C1", {"level": 2}, note="on the scaffold"))[0]


def answer(row: SetAside, actor: Any, take_in: bool = True, note: str = "Looked again.") -> Any:
    return answer_set_aside(actor=actor, set_aside=row, take_in=take_in, note=note)


def test_the_page_tells_what_was_set_aside_in_words(yard: Yard) -> None:
    _, row = scored_twice(yard)
    page = devices_page(yard)
    for said in (
        "Criterion C1",
        yard.trainee.full_name,
        "Joint full and even",
        "on the scaffold",
        yard.instructor.full_name,
        "3 Nov 2026 10:15",
        "This was scored already",
        reverse("set_aside", args=[row.pk]),
    ):
        assert said in page, said


def test_what_is_no_event_at_all_is_shown_and_can_only_be_left_out(yard: Yard) -> None:
    rows = aside(
        yard,
        7,
        {"id": "x" * 80, "subject": 5, "value": "<b>", "note": ["n"], "device_time": 3},
        {"id": "y", "attempt": str(uuid.uuid4()), "subject": {"kind": [], "key": {}}},
        {"id": "z", "kind": "photo", "claimed_at": "noon"},
        {"id": "q", "value": "a\0b"},
    )
    client = signed_in(yard.lead)
    assert "<b>" not in devices_page(yard).replace("<b>Bankermark</b>", "")
    for row in rows:
        page = client.get(reverse("set_aside", args=[row.pk])).content.decode()
        assert "It cannot be taken in now." in page
        assert 'name="take_in"' not in page
        with pytest.raises(Refused):
            answer(row, yard.lead)
        assert answer(row, yard.lead, take_in=False).observation is None


def test_taken_in_it_stands_in_place_of_what_stood_with_its_own_id(yard: Yard) -> None:
    stands, row = scored_twice(yard)
    client = signed_in(yard.lead)
    address = reverse("set_aside", args=[row.pk])
    assert "Open joint, or a face that rocks" in client.get(address).content.decode()
    response = client.post(address, {"take_in": "yes", "note": "The device was later."})
    assert response["Location"] == reverse("run_devices", args=[yard.run.pk])
    taken = Observation.objects.get(replaces=stands)
    assert (str(taken.pk), str(taken.epoch), taken.seq) == (
        row.body["id"],
        row.body["epoch"],
        row.body["seq"],
    )
    assert (taken.assessor, taken.value) == (yard.instructor, {"level": 2})
    answered = SetAsideAnswer.objects.get()
    assert (answered.by, answered.observation, answered.note) == (
        yard.lead,
        taken,
        "The device was later.",
    )
    assert LogEntry.objects.get(verb="set_aside.taken_in").actor == yard.lead
    assert "taken in by" in devices_page(yard)
    again = receive(row.pack, [row.body])  # type: ignore[arg-type]
    assert [each.result for each in again] == ["aside"]
    assert SetAside.objects.count() == 1, "sent again, it is neither new nor stored twice"


def test_left_out_nothing_changes_and_the_reason_is_kept(yard: Yard) -> None:
    stands, row = scored_twice(yard)
    answer(row, yard.instructor, take_in=False, note="A slip of the finger.")
    assert list(Observation.objects.all()) == [stands]
    page = devices_page(yard)
    assert "left out by" in page
    assert "A slip of the finger." in page


def test_an_answer_needs_a_reason_and_is_given_once(yard: Yard) -> None:
    _, row = scored_twice(yard)
    response = signed_in(yard.lead).post(reverse("set_aside", args=[row.pk]), {"take_in": "yes"})
    assert response.status_code == 422
    assert "Write why" in response.content.decode()
    answer(row, yard.lead, take_in=False)
    with pytest.raises(Refused, match="answered meanwhile"):
        answer(row, yard.lead)


def test_looking_at_the_page_changes_nothing(yard: Yard) -> None:
    stands, row = scored_twice(yard)
    entries = LogEntry.objects.count()
    signed_in(yard.lead).get(reverse("set_aside", args=[row.pk]))
    assert list(Observation.objects.all()) == [stands]
    assert LogEntry.objects.count() == entries


def test_after_signing_off_it_can_only_be_left_out(yard: Yard) -> None:
    attempt = yard.attempt()
    score_all(attempt, yard.instructor)
    sign_off(actor=yard.instructor, attempt=attempt, password_checked=True, note="")
    row = aside(yard, scored(attempt, "C1", {"level": 0}))[0]
    with pytest.raises(Refused, match="signed off meanwhile"):
        answer(row, yard.lead)
    assert not SetAsideAnswer.objects.exists()


def test_what_a_former_instructor_scored_waits_until_the_run_is_taught_again(yard: Yard) -> None:
    attempt = yard.attempt()
    yard.run.instructors.clear()
    row = aside(yard, scored(attempt, "C1", {"level": 2}))[0]
    with pytest.raises(Refused, match="no longer assesses"):
        answer(row, yard.lead)
    with pytest.raises(PermissionDenied):
        answer(row, yard.instructor)
    yard.run.instructors.add(yard.instructor)
    assert answer(row, yard.lead).observation.assessor == yard.instructor


def test_an_event_of_another_run_is_not_taken_in(yard: Yard) -> None:
    other = make_yard()
    Role.objects.create(
        person=yard.instructor, organisation=other.provider, kind=Role.Kind.INSTRUCTOR
    )
    other.run.instructors.add(yard.instructor)
    row = aside(yard, scored(other.attempt(), "C1", {"level": 2}))[0]
    with pytest.raises(Refused, match="no such attempt"):
        answer(row, yard.lead)


def test_a_photograph_is_taken_in_as_one(yard: Yard) -> None:
    attempt = yard.attempt()
    yard.run.instructors.clear()
    row = aside(yard, photo_event(attempt, jpeg()))[0]
    yard.run.instructors.add(yard.instructor)
    assert "A photograph" in devices_page(yard)
    assert answer(row, yard.lead).observation is None
    assert str(Photo.objects.get().pk) == row.event_id
    page = devices_page(yard)
    assert "taken in by" in page
    assert "have not come yet" in page, "its bytes are still on the device"
    assert "Criterion C1" in page.partition('id="photographs"')[2]


def test_gaps_receipts_and_expired_packs_are_told(yard: Yard) -> None:
    attempt, pack, epoch = yard.attempt(), make_pack(yard), str(uuid.uuid4())
    receive(pack, [scored(attempt, "C1", GOOD["C1"], epoch=epoch, seq=2)])
    receive(pack, [scored(attempt, "C3", GOOD["C3"], epoch=epoch, seq=6)])
    page = devices_page(yard)
    gap = page.partition('id="gaps"')[2]
    assert "<li>1, 3 to 5 " in gap
    assert "2 scores" in page
    assert "Over since" not in page
    pack.taken_at, pack.expires_at = pack.taken_at.replace(year=2020), pack.taken_at
    pack.save()
    assert "Over since" in devices_page(yard)


def test_nothing_taken_up_is_told_with_what_to_do(yard: Yard) -> None:
    assert "Nobody has taken this run up on a device yet" in devices_page(yard)


def test_the_page_asks_as_often_for_one_of_each_as_for_three(yard: Yard) -> None:
    attempt, client = yard.attempt(), signed_in(yard.lead)
    address = reverse("run_devices", args=[yard.run.pk])

    def one_more() -> None:
        teacher = make_role(Role.Kind.INSTRUCTOR, yard.provider)
        yard.run.instructors.add(teacher)
        pack = make_pack(yard, teacher)
        sent = scored(attempt, "C1", {"level": 2}, seq=3)
        receive(pack, [sent, {**sent, "note": "again"}, photo_event(attempt, jpeg())])
        left = scored(attempt, "C1", {"level": 9})
        receive(pack, [left])
        answer(SetAside.objects.get(event_id=left["id"]), yard.lead, take_in=False)

    def queries() -> int:
        with CaptureQueriesContext(connection) as asked:
            client.get(address)
        return len(asked)

    client.get(address)
    one_more()
    once = queries()
    one_more()
    one_more()
    assert queries() == once
    assert devices_page(yard).count(">Answer<") == 3


def test_the_lead_is_told_what_waits_and_nobody_else(yard: Yard) -> None:
    _, row = scored_twice(yard)
    home = reverse("home")
    assert "Answer 1 score set aside" in signed_in(yard.lead).get(home).content.decode()
    assert "set aside" not in signed_in(yard.instructor).get(home).content.decode()
    assert "set aside" not in signed_in(make_yard().lead).get(home).content.decode()
    answer(row, yard.lead, take_in=False)
    assert "set aside" not in signed_in(yard.lead).get(home).content.decode()


def test_the_run_leads_to_its_devices(yard: Yard) -> None:
    page = signed_in(yard.instructor).get(reverse("run", args=[yard.run.pk])).content.decode()
    assert reverse("run_devices", args=[yard.run.pk]) in page


def test_a_lost_device_is_closed_by_the_lead_or_its_assessor(yard: Yard) -> None:
    pack = make_pack(yard)
    colleague = make_role(Role.Kind.INSTRUCTOR, yard.provider)
    yard.run.instructors.add(colleague)
    close, page = reverse("pack_close", args=[pack.pk]), reverse("run_devices", args=[yard.run.pk])
    assert close not in signed_in(colleague).get(page).content.decode()
    assert signed_in(colleague).post(close).status_code == 403
    assert close in signed_in(yard.instructor).get(page).content.decode()
    assert signed_in(yard.lead).post(close)["Location"] == page
    assert "Closed " in devices_page(yard)
    assert put(pack, jpeg()).status_code == 401
