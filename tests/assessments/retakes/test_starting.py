"""Starting a retake: who, after how long, how often, and what stands."""

from datetime import UTC, date, datetime

import pytest
from django.core.exceptions import PermissionDenied
from django.utils import timezone

from assessments.actions.attempts import start_attempt
from assessments.actions.decisions import decide_again, sign_off
from assessments.actions.observations import record_observation
from assessments.actions.retakes import start_retake
from assessments.models import Attempt, Observation, Retake, Review
from assessments.queries.attempts import current_decision, standings
from assessments.queries.retakes import retaking
from tests.assessments.builders import (
    GOOD,
    Yard,
    at_once,
    event,
    make_standard,
    make_yard,
    score_all,
)
from tests.assessments.retakes.builders import RULE, SEEN, days_ago, decided, failed_yard, yard_with
from tests.factories import make_role
from tests.triggers import lifted
from training.errors import Refused
from training.models import CourseRun, LogEntry, Role

pytestmark = pytest.mark.django_db


def again(yard: Yard, attempt: Attempt, *, whole: bool = False) -> Attempt:
    return start_retake(
        actor=yard.instructor, attempt=attempt, whole=whole, stands="" if whole else SEEN
    )


def test_only_the_open_stage_is_made_again_and_the_rest_is_taken_over() -> None:
    yard, first = failed_yard()
    attempt = again(yard, first)
    retake = Retake.objects.get()
    assert (retake.attempt, retake.of, retake.decision) == (attempt, first, first.decisions.get())
    assert (retake.stages, retake.carried, retake.stands) == (["set"], ["fit"], SEEN)
    rows = list(attempt.observations.order_by("seq"))
    assert {(row.subject_kind, row.subject_key) for row in rows} == {
        ("criterion", "C1"),
        ("criterion", "C2"),
        ("hold_point", "fit"),
    }
    assert [row.seq for row in rows] == [1, 2, 3]
    assert len({row.epoch for row in rows}) == 1
    for row in rows:
        stood = row.carried_from
        assert stood is not None
        assert stood.attempt == first
        for name in ("assessor", "value", "note", "device_time", "device_zone", "device"):
            assert getattr(row, name) == getattr(stood, name)
        assert row.epoch != stood.epoch
        assert row.content_digest != stood.content_digest
    logged = LogEntry.objects.get(verb="retake.started").data
    assert logged["carried"] == ["fit"]
    assert {each["id"] for each in logged["observations"]} == {str(row.pk) for row in rows}


def test_a_retake_is_decided_by_what_stands_and_what_was_made_again() -> None:
    yard, first = failed_yard()
    attempt = again(yard, first)
    score_all(attempt, yard.instructor, C1=None, C2=None, fit=None)
    decision = sign_off(actor=yard.instructor, attempt=attempt, password_checked=True)
    assert decision.result == "met"
    assert decide_again(decision) == decision.document
    before = current_decision(first)
    assert before is not None
    assert before.result == "not_yet_met"


def test_a_correction_and_what_was_taken_back_before_count_as_they_stood_last() -> None:
    yard = yard_with()
    first = yard.attempt()
    score_all(first, yard.instructor, C3={"answer": False})
    earlier = first.observations.get(subject_key="C1")
    record_observation(
        actor=yard.instructor,
        event=event(first, "C1", {"level": 1}, replaces=str(earlier.pk)),
    )
    days_ago(sign_off(actor=yard.instructor, attempt=first, password_checked=True), 7)
    row = again(yard, first).observations.get(subject_key="C1")
    assert row.value == {"level": 1}
    assert row.carried_from is not None
    assert row.carried_from.replaces == earlier


def test_a_second_attempt_is_a_retake_of_the_whole_task() -> None:
    yard, first = failed_yard()
    attempt = start_attempt(actor=yard.instructor, enrolment=yard.enrolment)
    retake = Retake.objects.get(attempt=attempt)
    assert (retake.of, retake.stages, retake.carried) == (first, [], [])
    assert not attempt.observations.exists()


def test_an_earlier_score_never_raises_a_later_one() -> None:
    # The first attempt was good but for C3; of the whole task made again C1 falls short.
    yard, first = failed_yard()
    attempt = again(yard, first, whole=True)
    score_all(attempt, yard.instructor, C1={"level": 0})
    decision = sign_off(actor=yard.instructor, attempt=attempt, password_checked=True)
    rows = {row["key"]: row for row in decision.document["criteria"]}
    assert rows["C1"]["result"] == "not_met"
    assert len(decision.observations["observations"]) == len(GOOD) + 1
    assert len(first.observations.all()) == len(GOOD) + 1


@pytest.mark.parametrize(("days", "refused"), [(0, True), (6, True), (7, False), (8, False)])
def test_the_wait_of_the_program_is_held(days: int, refused: bool) -> None:
    yard, first = failed_yard(days)
    if not refused:
        assert again(yard, first).number == 2
        return
    with pytest.raises(Refused, match="the earliest day is"):
        again(yard, first)
    with pytest.raises(Refused, match="the earliest day is"):
        start_attempt(actor=yard.instructor, enrolment=yard.enrolment)
    assert Attempt.objects.count() == 1


def test_the_day_is_that_of_the_site() -> None:
    # 03:30 UTC on 10 November is 22:30 on the 9th in New York (EST, UTC-5): 7 days on, the 16th.
    yard, first = failed_yard()
    with lifted("assessments_decision"):
        first.decisions.update(decided_at=datetime(2026, 11, 10, 3, 30, tzinfo=UTC))
    found = retaking(yard.enrolment)
    assert found is not None
    assert found.earliest == date(2026, 11, 16)


def test_an_incomplete_attempt_goes_on_at_once_from_where_it_stopped() -> None:
    yard = yard_with()
    first = decided(yard, C3=None, C4=None, C5=None).attempt
    found = retaking(yard.enrolment)
    assert found is not None
    assert found.again.stages == ("set",)
    assert again(yard, first).observations.count() == 3


def test_so_many_attempts_and_no_more() -> None:
    yard, first = failed_yard(0, after_days=0, most=2)
    second = again(yard, first)
    score_all(second, yard.instructor, C1=None, C2=None, fit=None, C3={"answer": False})
    sign_off(actor=yard.instructor, attempt=second, password_checked=True)
    with pytest.raises(Refused, match="allows 2 attempts in all"):
        again(yard, second)


def test_a_void_attempt_counts_for_nothing() -> None:
    yard, first = failed_yard(0, after_days=7, most=1)
    Attempt.objects.filter(pk=first.pk).update(state="void")
    assert retaking(yard.enrolment) is None
    attempt = start_attempt(actor=yard.instructor, enrolment=yard.enrolment)
    assert attempt.number == 2
    assert not Retake.objects.exists()


def test_what_is_met_is_not_made_again() -> None:
    yard = yard_with(after_days=0)
    met = decided(yard, C3={"answer": True}).attempt
    with pytest.raises(Refused, match="standard is met"):
        again(yard, met, whole=True)
    # A further attempt, for whatever reason, is none made again.
    start_attempt(actor=yard.instructor, enrolment=yard.enrolment)
    assert not Retake.objects.exists()


def test_without_a_rule_the_whole_task_may_be_made_again_at_once() -> None:
    yard = make_yard()
    first = decided(yard).attempt
    found = retaking(yard.enrolment)
    assert found is not None
    assert (found.why_not, found.left, found.again.whole) == ("", None, True)
    with pytest.raises(Refused, match="whole task") as caught:
        again(yard, first)
    assert caught.value.field == "scope"
    assert again(yard, first, whole=True).number == 2


def test_the_scope_whole_lets_nothing_stand() -> None:
    yard, first = failed_yard(scope="whole")
    with pytest.raises(Refused, match="whole task"):
        again(yard, first)


def test_nothing_stands_under_another_standard() -> None:
    yard, first = failed_yard()
    newest = make_standard(yard.program, dimensions={}, about={"retake": RULE})
    with pytest.raises(Refused, match="whole task"):
        again(yard, first)
    assert again(yard, first, whole=True).standard == newest


@pytest.mark.parametrize("stands", ["", "  \n "])
def test_nothing_stands_that_nobody_looked_at(stands: str) -> None:
    yard, first = failed_yard()
    with pytest.raises(Refused, match="Look at the work") as caught:
        start_retake(actor=yard.instructor, attempt=first, whole=False, stands=stands)
    assert caught.value.field == "stands"
    assert Attempt.objects.count() == 1


def test_an_earlier_attempt_is_not_the_one() -> None:
    yard, first = failed_yard(0, after_days=0)
    second = again(yard, first)
    score_all(second, yard.instructor, C1=None, C2=None, fit=None, C3={"answer": False})
    sign_off(actor=yard.instructor, attempt=second, password_checked=True)
    with pytest.raises(Refused, match="Attempt 2 came after"):
        again(yard, first)
    third = again(yard, second)
    # What stands a second time names the attempt right before, which took it over itself.
    assert {row.carried_from.attempt for row in third.observations.all()} == {second}  # type: ignore[union-attr]


def test_no_retake_while_the_result_is_under_review() -> None:
    yard, first = failed_yard()
    review = Review.objects.create(
        attempt=first,
        decision=first.decisions.get(),
        asked_by=yard.trainee,
        reason="The joint was wet.",
        answer_by=timezone.localdate(),
    )
    with pytest.raises(Refused, match="under review"):
        again(yard, first)
    review.state = Review.State.TAKEN_BACK
    review.save()
    assert again(yard, first).number == 2


def test_outsiders_the_trainee_and_a_closed_run_start_nothing() -> None:
    yard, first = failed_yard()
    for person in (yard.trainee, make_role(Role.Kind.INSTRUCTOR, yard.provider)):
        with pytest.raises(PermissionDenied):
            start_retake(actor=person, attempt=first, whole=True)
    CourseRun.objects.update(state=CourseRun.State.CLOSED)
    with pytest.raises(Refused, match="run is closed"):
        again(yard, first)


def test_who_scored_only_what_stands_has_not_begun_on_the_retake() -> None:
    yard, first = failed_yard()
    again(yard, first)
    (row,) = standings(yard.run)
    assert row.scored_by == frozenset()


@pytest.mark.django_db(transaction=True)
def test_two_starts_at_once_make_one_retake() -> None:
    yard, first = failed_yard()

    def start(_: int) -> object:
        try:
            return again(yard, first)
        except Refused as refused:
            return refused.message

    results = at_once(start)
    assert sorted(type(each).__name__ for each in results) == ["Attempt", "str"]
    assert Retake.objects.count() == 1
    assert Observation.objects.filter(carried_from__isnull=False).count() == 3
