"""Taking up, renewing and closing packs; what a pack holds; gaps in what came."""

import uuid
from collections.abc import Callable
from datetime import date, datetime, timedelta
from fractions import Fraction
from typing import Any

import pytest
from django.core import signing
from django.core.exceptions import PermissionDenied
from django.utils import timezone

from assessments.actions.attempts import start_attempt
from assessments.actions.decisions import sign_off
from assessments.actions.site import packs
from assessments.actions.site.batches import receive
from assessments.actions.site.packs import (
    TokenRefused,
    close_pack,
    pack_of,
    renew_pack,
    take_pack,
    token_of,
)
from assessments.models import Attempt, Pack
from assessments.queries.site.gaps import gaps
from assessments.queries.site.pack_document import pack_document
from tests.assessments.builders import GOOD, Yard, make_standard, make_yard, score_all
from tests.assessments.site.builders import Device, take_up
from tests.factories import enrol, make_person
from training.actions.log import verify_log
from training.errors import Refused
from training.models import CourseRun, LogEntry

DEVICE = uuid.UUID("00000000-0000-4000-8000-000000000001")


@pytest.mark.django_db
def test_taking_a_run_up_starts_the_attempts_that_may_start() -> None:
    yard = make_yard()
    second = enrol(yard.run, make_person())
    withdrawn = enrol(yard.run, make_person())
    withdrawn.state = "withdrawn"
    withdrawn.save()
    own = enrol(yard.run, yard.instructor)
    first = yard.attempt()
    pack = take_pack(actor=yard.instructor, run=yard.run, device=DEVICE)
    started = {row.enrolment_id: row for row in Attempt.objects.all()}
    assert set(started) == {yard.enrolment.pk, second.pk}
    assert started[yard.enrolment.pk] == first
    assert own.pk not in started
    assert (pack.run, pack.assessor, pack.device) == (yard.run, yard.instructor, DEVICE)
    assert LogEntry.objects.get(verb="pack.taken").subject_id == str(pack.pk)
    assert verify_log() is None


@pytest.mark.django_db
def test_taking_a_run_up_starts_no_further_attempt_after_a_decision() -> None:
    yard = make_yard()
    enrol(yard.run, make_person())
    decided = yard.attempt()
    score_all(decided, yard.instructor, C3={"answer": False})
    sign_off(actor=yard.instructor, attempt=decided, password_checked=True)
    assert decided.decisions.get().result == "not_yet_met"
    take_pack(actor=yard.instructor, run=yard.run, device=DEVICE)
    assert yard.enrolment.attempts.count() == 1


@pytest.mark.django_db
def test_the_same_device_gets_the_same_pack_again() -> None:
    yard = make_yard()
    first = take_pack(actor=yard.instructor, run=yard.run, device=DEVICE)
    assert take_pack(actor=yard.instructor, run=yard.run, device=DEVICE) == first
    assert take_pack(actor=yard.lead, run=yard.run, device=DEVICE) != first
    assert take_pack(actor=yard.instructor, run=yard.run, device=uuid.uuid4()) != first
    close_pack(actor=yard.instructor, pack=first)
    assert take_pack(actor=yard.instructor, run=yard.run, device=DEVICE) != first


@pytest.mark.django_db
def test_who_does_not_assess_takes_nothing_up() -> None:
    yard = make_yard()
    for person in (yard.trainee, make_yard().lead):
        with pytest.raises(PermissionDenied):
            take_pack(actor=person, run=yard.run, device=DEVICE)
    CourseRun.objects.update(state="planned")
    yard.run.refresh_from_db()
    with pytest.raises(Refused, match="planned"):
        take_pack(actor=yard.instructor, run=yard.run, device=DEVICE)
    assert not Pack.objects.exists()
    assert not Attempt.objects.exists()


@pytest.mark.django_db
def test_a_run_with_nobody_to_score_is_not_taken_up() -> None:
    yard = make_yard()
    with pytest.raises(Refused, match="open attempt"):
        take_pack(actor=yard.instructor, run=yard.run, device=DEVICE, start_attempts=False)
    assert not Pack.objects.exists()


# The site keeps New York time: midnight is 05:00 UTC in winter, 04:00 in summer.
@pytest.mark.django_db
@pytest.mark.parametrize(
    ("ends_on", "now", "expires"),
    [
        # 14 days after the end of the last day, whatever the day it is taken up.
        (date(2026, 11, 6), "2026-11-03T12:00+00:00", "2026-11-21T05:00+00:00"),
        (date(2026, 7, 3), "2026-07-01T12:00+00:00", "2026-07-18T04:00+00:00"),
        # Scored beyond the last day: as if it ended today, on the site's clock.
        (date(2026, 11, 6), "2026-11-26T04:00+00:00", "2026-12-10T05:00+00:00"),
    ],
)
def test_a_pack_expires_two_weeks_after_the_run(
    ends_on: date, now: str, expires: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    yard = make_yard()
    yard.attempt()
    CourseRun.objects.update(starts_on=ends_on - timedelta(days=4), ends_on=ends_on)
    yard.run.refresh_from_db()
    monkeypatch.setattr(timezone, "now", lambda: datetime.fromisoformat(now))
    pack = take_pack(actor=yard.instructor, run=yard.run, device=DEVICE, start_attempts=False)
    assert pack.expires_at == datetime.fromisoformat(expires)


@pytest.mark.django_db
def test_renewing_and_closing() -> None:
    device = take_up()
    yard, pack = device.yard, device.pack
    until = pack.expires_at
    Pack.objects.update(
        taken_at=timezone.now() - timedelta(days=2), expires_at=timezone.now() - timedelta(days=1)
    )
    token = token_of(pack)
    with pytest.raises(TokenRefused, match="no longer send"):
        pack_of(token)
    with pytest.raises(PermissionDenied):
        renew_pack(actor=yard.lead, pack=pack)
    assert renew_pack(actor=yard.instructor, pack=pack).expires_at == until
    assert pack_of(token) == pack
    with pytest.raises(PermissionDenied):
        close_pack(actor=yard.trainee, pack=pack)
    closed = close_pack(actor=yard.lead, pack=pack)
    assert closed.closed_at is not None
    assert close_pack(actor=yard.instructor, pack=pack).closed_at == closed.closed_at
    with pytest.raises(TokenRefused, match="was closed"):
        pack_of(token)
    with pytest.raises(Refused, match="was closed"):
        renew_pack(actor=yard.instructor, pack=pack)
    verbs = LogEntry.objects.filter(verb__startswith="pack.").values_list("verb", flat=True)
    assert list(verbs) == ["pack.taken", "pack.renewed", "pack.closed"]


@pytest.mark.django_db
def test_a_token_made_for_something_else_opens_nothing() -> None:
    pack = take_up().pack
    made: list[Callable[[], str]] = [
        lambda: signing.dumps({"pack": str(pack.pk)}),
        lambda: signing.dumps({"pack": str(pack.pk)}, salt="password"),
        lambda: signing.dumps({"pack": str(pack.pk)}, salt=packs.SALT, key="another key"),
        lambda: signing.dumps({"pack": str(uuid.uuid4())}, salt=packs.SALT),
        lambda: str(pack.pk),
    ]
    for make in made:
        with pytest.raises(TokenRefused, match="does not know"):
            pack_of(make())
    assert pack_of(signing.dumps({"pack": str(pack.pk)}, salt=packs.SALT)) == pack


@pytest.mark.django_db
def test_a_pack_holds_what_is_needed_on_the_scaffold() -> None:
    device = take_up()
    yard = device.yard
    first = device.event("C1", {"level": 0})
    second = device.event("C1", {"level": 2}, replaces=first["id"], note="Bed corner")
    receive(device.pack, [first, second])
    other = take_up(yard, yard.lead)
    receive(other.pack, [other.event("fit", {"accepted": True}, kind="hold_point"),
                         other.event("C1", {"level": 1})])  # fmt: skip
    document = pack_document(pack_of(token_of(device.pack)))
    assert pack_of(document["token"]) == device.pack
    assert document["assessor"]["id"] == str(yard.instructor.pk)
    assert document["run"]["time_zone"] == "America/New_York"
    assert document["standard"] == {
        "digest": yard.standard.digest,
        "document": yard.standard.document,
    }
    # 1/16 in = 1 587 500 nm, 3/16 in = 4 762 500 nm (the inch is 25.4 mm: NIST SP 811). The guard
    # band: U = 2u, u² = (a² + (d/2)²)/3 with a = 1/256 in = 99 218.75 nm and half of the
    # resolution the same, so U² = 8a²/3 (worked by hand).
    sums = document["sums"]["C2"]
    assert (sums["lower_nm"], sums["upper_nm"]) == ("1587500", "4762500")
    above, under = (int(text) for text in sums["guard_square"])
    assert Fraction(above, under) == Fraction(8, 3) * Fraction(9921875, 100) ** 2
    assert sums["unit"] == "in"
    [trainee] = document["trainees"]
    assert trainee["attempt"] == str(device.attempt.pk)
    assert trainee["current"] == {
        "criterion:C1": {"id": second["id"], "value": {"level": 2}, "note": "Bed corner"}
    }
    assert trainee["accepted"] == ["fit"]
    assert [each["subject"]["key"] for each in document["photos"]] == ["fit", "C3"]


@pytest.mark.django_db
def test_an_attempt_under_another_standard_is_scored_at_the_desk() -> None:
    yard = make_yard()
    yard.attempt()
    later = make_standard(yard.program, dimensions={})
    places = [enrol(yard.run, make_person(f"Later {number}")) for number in range(2)]
    for place in places:
        start_attempt(actor=yard.instructor, enrolment=place)
    document = pack_document(take_up(yard).pack)
    assert document["standard"]["digest"] == later.digest
    told = {each["name"]: each for each in document["trainees"]}
    assert told[yard.trainee.full_name]["attempt"] is None
    assert "another standard" in told[yard.trainee.full_name]["sentence"]
    assert told["Later 0"]["attempt"]
    assert told["Later 0"]["sentence"] is None


@pytest.mark.django_db
def test_a_pack_asks_the_same_number_of_questions_for_one_trainee_and_three(
    django_assert_num_queries: Any,
) -> None:
    device = take_up()
    receive(device.pack, [device.event(key, GOOD[key]) for key in GOOD])
    pack = loaded(device)
    with django_assert_num_queries(6):
        pack_document(pack)
    for _ in range(2):
        enrol(device.yard.run, make_person())
    take_up(device.yard)
    with django_assert_num_queries(6):
        assert len(pack_document(pack)["trainees"]) == 3


def loaded(device: Device) -> Pack:
    return Pack.objects.select_related("run", "assessor").get(pk=device.pack.pk)


@pytest.mark.django_db
def test_gaps_below_the_highest_number_are_told(django_assert_num_queries: Any) -> None:
    device = take_up()
    receive(
        device.pack,
        [
            device.event("C1", GOOD["C1"], seq=2),
            device.event("C3", GOOD["C3"], seq=3),
            device.photo("C1", seq=6),
            device.event("C9", {"level": 1}, seq=9),  # kept aside, but it came
        ],
    )
    with django_assert_num_queries(6):
        [found] = gaps(device.yard.run)
    assert (found.device, str(found.epoch)) == (device.pack.device, device.epoch)
    assert found.received == [(2, 3), (6, 6), (9, 9)]
    assert found.missing == [(1, 1), (4, 5), (7, 8)]
    assert found.highest == 9
    second = Device(device.yard, take_up(device.yard, device.yard.lead).pack)
    receive(second.pack, [second.event("C1", GOOD["C1"]), second.event("C3", GOOD["C3"])])
    with django_assert_num_queries(6):
        both = {str(each.epoch): each for each in gaps(device.yard.run)}
    assert both[second.epoch].missing == []
    assert both[second.epoch].received == [(1, 2)]
    assert gaps(make_yard().run) == []


@pytest.mark.django_db
def test_what_came_for_another_run_is_no_gap() -> None:
    device = take_up()
    elsewhere: Yard = make_yard()
    other = Device(elsewhere, take_up(elsewhere).pack, epoch=device.epoch, seq=1)
    receive(device.pack, [device.event("C1", GOOD["C1"]), device.event("C3", GOOD["C3"], seq=3)])
    assert [each.missing for each in gaps(device.yard.run)] == [[(2, 2)]]
    receive(other.pack, [other.event("C1", GOOD["C1"])])
    assert [each.missing for each in gaps(device.yard.run)] == [[]]
