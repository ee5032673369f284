"""Eight writers at once: one of them gets the bay, the instructor, the last place."""

from collections.abc import Callable

import pytest

from tests.factories import enrol, make_person, make_run
from tests.training.calendar.planning import at_once, bay, plan, refusals
from tests.training.yard import make_yard
from training.actions.enrolments import enrol_person, withdraw_enrolment
from training.actions.publishing import publish_calendar
from training.actions.sessions import add_session
from training.models import CourseRun, Enrolment, Session, SessionInstructor

pytestmark = pytest.mark.django_db(transaction=True)
WRITERS = 8


def test_one_of_eight_gets_the_bay() -> None:
    yard = make_yard()
    place = bay(yard)
    # Two runs share the bay: the lock on a run alone would not make them queue.
    other = make_run(yard.program)
    CourseRun.objects.filter(pk=other.pk).update(site=yard.run.site)
    runs = [yard.run, CourseRun.objects.get(pk=other.pk)]

    def add(number: int) -> Callable[[], object]:
        wanted = plan(title=f"Group {number}", place=place)
        return lambda: add_session(actor=yard.lead, run=runs[number % 2], plan=wanted)

    found = at_once([add(number) for number in range(WRITERS)])
    refused = refusals(found)
    assert len(refused) == WRITERS - 1
    winner = Session.objects.get()
    assert {each.field for each in refused} == {"place"}
    for each in refused:
        assert f"Bay 3 is taken by “{winner.title}”" in each.message
        assert "3 Nov 2026, 08:00 to 10:00" in each.message


def test_one_of_eight_runs_gets_the_instructor() -> None:
    yard = make_yard()
    runs = [make_run(yard.program, instructors=(yard.teacher,)) for _ in range(WRITERS)]
    wanted = plan(instructors=(yard.teacher,))

    def add(run: CourseRun) -> Callable[[], object]:
        return lambda: add_session(actor=yard.lead, run=run, plan=wanted)

    refused = refusals(at_once([add(run) for run in runs]))
    assert len(refused) == WRITERS - 1
    assert SessionInstructor.objects.count() == Session.objects.count() == 1
    for each in refused:
        assert each.field == "instructors"
        assert f"{yard.teacher} teaches “Pins” of Dutchman repair" in each.message


def test_no_more_are_enrolled_than_the_run_holds() -> None:
    yard = make_yard()
    CourseRun.objects.filter(pk=yard.run.pk).update(capacity=3)  # the trainee has one of them

    def enrolling(number: int) -> Callable[[], object]:
        return lambda: enrol_person(
            actor=yard.lead,
            run=yard.run,
            full_name=f"Mason {number}",
            email=f"at.once.{number}@example.org",
        )

    assert refusals(at_once([enrolling(number) for number in range(WRITERS)])) == []
    states = list(yard.run.enrolments.values_list("state", flat=True))
    assert (states.count("enrolled"), states.count("waiting")) == (3, WRITERS - 2)


def test_places_given_back_at_once_go_to_as_many_of_the_list() -> None:
    yard = make_yard()
    CourseRun.objects.filter(pk=yard.run.pk).update(capacity=4)
    leaving = [yard.enrolment, *(enrol(yard.run, make_person()) for _ in range(3))]
    for _ in range(6):
        waiting = enrol(yard.run, make_person())
        Enrolment.objects.filter(pk=waiting.pk).update(state="waiting")

    def leave(enrolment: Enrolment) -> Callable[[], object]:
        fresh = Enrolment.objects.select_related("run__program__provider").get(pk=enrolment.pk)
        return lambda: withdraw_enrolment(actor=yard.lead, enrolment=fresh)

    # Each of the four is withdrawn by two people at once: one of the two is told so.
    assert len(refusals(at_once([leave(each) for each in leaving * 2]))) == 4
    states = list(yard.run.enrolments.values_list("state", flat=True))
    assert [states.count(each) for each in ("enrolled", "waiting", "withdrawn")] == [4, 2, 4]


def test_a_calendar_is_published_once(mailoutbox: list[object]) -> None:
    yard = make_yard()
    add_session(actor=yard.lead, run=yard.run, plan=plan())
    publish = [lambda: publish_calendar(actor=yard.lead, run=yard.run)] * WRITERS
    refused = refusals(at_once(publish))
    assert len(refused) == WRITERS - 1
    assert all("published already" in each.message for each in refused)
    assert len(mailoutbox) == 1
