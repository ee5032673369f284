"""Planning sessions: what is refused, in which words, and what stands beside each other."""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied

from tests.factories import make_organisation, make_program, make_role, make_run
from tests.training.calendar.planning import at, bay, module, plan, planned
from tests.training.yard import Yard
from training.actions.sessions import (
    add_session,
    add_sessions,
    cancel_session,
    change_session,
    set_instructors,
)
from training.errors import Refused
from training.models import CourseRun, LogEntry, Place, Role, Session

pytestmark = pytest.mark.django_db


def test_sessions_may_follow_at_once(yard: Yard) -> None:
    where = {"place": bay(yard), "instructors": (yard.teacher,)}
    for first in (8, 10, 6):
        planned(yard, 3, first, first + 2, **where)
    assert yard.run.sessions.count() == 3


@pytest.mark.parametrize("hours", [(7, 9), (9, 11), (8, 10), (7, 12)])
def test_a_bay_is_held_by_one_session_at_a_time(yard: Yard, hours: tuple[int, int]) -> None:
    place = bay(yard)
    planned(yard, place=place)
    with pytest.raises(
        Refused, match="Bay 3 is taken by “Pins” in Bay 3, 3 Nov 2026, 08:00 to 10:00"
    ) as r:
        planned(yard, 3, *hours, title="Grout", place=place)
    assert r.value.field == "place"
    assert yard.run.sessions.count() == 1


def test_an_instructor_is_told_by_name(yard: Yard) -> None:
    yard.run.instructors.add(yard.other_teacher)
    planned(yard, instructors=(yard.teacher,))
    both = (yard.other_teacher, yard.teacher)
    with pytest.raises(Refused, match=f"{yard.teacher} teaches “Pins”, 3 Nov 2026") as refused:
        planned(yard, 3, 9, 11, instructors=both)
    assert refused.value.field == "instructors"


def test_nothing_of_another_provider_is_told_but_the_time(yard: Yard) -> None:
    other = make_organisation()
    lead = make_role("lead", other)
    Role.objects.create(person=yard.teacher, organisation=other, kind="instructor")
    theirs = make_run(make_program(other, title="Secret course"), instructors=(yard.teacher,))
    secret = plan(title="Secret session", instructors=(yard.teacher,))
    add_session(actor=lead, run=theirs, plan=secret)
    with pytest.raises(Refused) as refused:
        planned(yard, instructors=(yard.teacher,))
    assert "a session of another provider, 3 Nov 2026, 08:00 to 10:00" in refused.value.message
    assert "Secret" not in refused.value.message


def test_a_cancelled_session_frees_bay_and_instructor(yard: Yard) -> None:
    where = {"place": bay(yard), "instructors": (yard.teacher,)}
    first = planned(yard, **where)
    cancel_session(actor=yard.lead, session=first)
    planned(yard, title="Instead", **where)
    with pytest.raises(Refused, match="cancelled"):
        change_session(actor=yard.lead, session=first, plan=plan())
    assert LogEntry.objects.filter(verb="session.cancelled", subject_id=str(first.pk)).count() == 1


def test_a_session_with_somebody_present_is_not_cancelled(yard: Yard) -> None:
    session = planned(yard)
    session.attendance.create(
        person=yard.trainee, kind="came", how="desk", at=session.starts_at, by=yard.teacher
    )
    with pytest.raises(Refused, match="presence"):
        cancel_session(actor=yard.lead, session=session)


def test_a_change_moves_instructors_along_and_is_refused_where_they_are(yard: Yard) -> None:
    yard.run.instructors.add(yard.other_teacher)
    first = planned(yard, instructors=(yard.teacher,))
    later = planned(yard, 3, 10, 12, instructors=(yard.other_teacher,))
    moved = plan(3, 9, 11, instructors=(yard.other_teacher,))
    change_session(actor=yard.lead, session=later, plan=moved)
    assert later.teaching.get().starts_at == at(3, 9)
    with pytest.raises(Refused, match="teaches “Pins”"):
        set_instructors(actor=yard.lead, session=later, instructors=[yard.teacher])
    assert later.teaching.get().person == yard.other_teacher
    set_instructors(actor=yard.lead, session=first, instructors=[])
    set_instructors(actor=yard.lead, session=later, instructors=[yard.teacher])
    assert later.teaching.get().person == yard.teacher


def test_several_are_planned_all_or_none(yard: Yard) -> None:
    place = bay(yard)
    plans = [plan(day, place=place) for day in (3, 4, 3)]
    with pytest.raises(Refused, match="Bay 3 is taken") as refused:
        add_sessions(actor=yard.lead, run=yard.run, plans=plans)
    assert (refused.value.row, refused.value.field) == (2, "place")  # type: ignore[attr-defined]
    assert Session.objects.count() == 0


OUTSIDE: list[tuple[dict[str, Any], str, str]] = [
    ({"starts_at": at(1, 23), "ends_at": at(2, 1)}, "day", "one of its days"),
    ({"starts_at": at(7, 0), "ends_at": at(7, 1)}, "day", "one of its days"),
    ({"starts_at": at(6, 23), "ends_at": at(7, 0, 1)}, "ends", "before its last day is over"),
    ({"starts_at": at(3, 8), "ends_at": at(3, 8)}, "ends", "not after the start"),
    ({"starts_at": at(3, 8), "ends_at": at(4, 8, 1)}, "ends", "more than 24 hours"),
    ({"title": " "}, "title", "Write a title"),
]


@pytest.mark.parametrize(("fields", "field", "words"), OUTSIDE)
def test_what_cannot_be_is_refused_at_its_field(
    yard: Yard, fields: dict[str, Any], field: str, words: str
) -> None:
    with pytest.raises(Refused, match=words) as refused:
        planned(yard, **fields)
    assert refused.value.field == field


def test_a_session_may_cross_midnight_and_end_with_the_run(yard: Yard) -> None:
    planned(yard, starts_at=at(3, 22), ends_at=at(4, 2))
    planned(yard, starts_at=at(6, 22), ends_at=at(7, 0))
    assert yard.run.sessions.count() == 2


def test_what_belongs_elsewhere_is_refused(yard: Yard) -> None:
    elsewhere = Place.objects.create(site=yard.other_run.site, kind="room", name="Loft")
    with pytest.raises(Refused, match="is not at") as refused:
        planned(yard, place=elsewhere)
    assert refused.value.field == "place"
    with pytest.raises(Refused, match="does not teach this run"):
        planned(yard, instructors=(yard.other_teacher,))
    part = module(yard)
    with pytest.raises(Refused, match="of another program"):
        add_session(actor=yard.lead, run=yard.other_run, plan=plan(module=part))


def test_only_a_lead_plans_and_not_in_a_closed_run(yard: Yard) -> None:
    session = planned(yard)
    for actor in (yard.teacher, yard.trainee, yard.stranger):
        with pytest.raises(PermissionDenied):
            add_session(actor=actor, run=yard.run, plan=plan())
        with pytest.raises(PermissionDenied):
            change_session(actor=actor, session=session, plan=plan())
        with pytest.raises(PermissionDenied):
            cancel_session(actor=actor, session=session)
    CourseRun.objects.update(state="closed")
    with pytest.raises(Refused, match="closed"):
        planned(yard)
    with pytest.raises(Refused, match="closed"):
        cancel_session(actor=yard.lead, session=session)


def test_a_run_in_another_zone_has_its_own_days(yard: Yard) -> None:
    # By the IANA time zone database Kiritimati is 14 hours ahead of UTC (from memory).
    yard.run.site.time_zone = "Pacific/Kiritimati"
    yard.run.site.save()
    begins = datetime(2026, 11, 1, 10, tzinfo=UTC)  # midnight of 2 November there
    planned(yard, starts_at=begins, ends_at=begins + timedelta(hours=1))
    early = begins - timedelta(minutes=1)
    with pytest.raises(Refused, match="one of its days"):
        planned(yard, starts_at=early, ends_at=begins)
