"""The places of a run, and the list of who waits for one. Callers hold the lock on the run."""

from collections.abc import Mapping
from datetime import timedelta

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from training.actions.invitations import tell_of_place, tell_planned
from training.actions.log import write_log
from training.actions.permission import require_lead
from training.actions.sessions import lock_run
from training.actions.state import change_state
from training.errors import Refused
from training.models import CourseRun, Enrolment, Person
from training.queries.calendar import coming_sessions
from training.queries.waiting import places_of, waiting_list

ENROLMENT_CHANGES: Mapping[str, set[str]] = {
    Enrolment.State.ENROLLED: {Enrolment.State.WITHDRAWN},
    Enrolment.State.WAITING: {Enrolment.State.ENROLLED, Enrolment.State.WITHDRAWN},
    Enrolment.State.WITHDRAWN: {Enrolment.State.ENROLLED, Enrolment.State.WAITING},
}
MOST = 10_000  # a larger capacity is a mistyped number


@transaction.atomic
def set_capacity(*, actor: Person, run: CourseRun, capacity: int | None) -> CourseRun:
    """Let ``run`` hold ``capacity`` trainees, any number with None; return it.

    Whoever waits moves up as far as there are places. Raises PermissionDenied for anyone but a
    lead; Refused for a closed run, and for fewer places than people enrolled.
    """
    require_lead(actor, run.program.provider)
    run = lock_run(run)
    enrolled = places_of(run).enrolled
    if capacity is not None and not 1 <= capacity <= MOST:
        raise Refused(
            _("Write a number from 1 to {most:,}, or nothing.").format(most=MOST), field="capacity"
        )
    if capacity is not None and capacity < enrolled:
        raise Refused(
            _(
                "{enrolled} are enrolled already: write at least {enrolled}, or withdraw somebody "
                "first."
            ).format(enrolled=enrolled),
            field="capacity",
        )
    if capacity == run.capacity:
        return run
    run.capacity = capacity
    run.save(update_fields=["capacity"])
    write_log(actor=actor, verb="run.capacity_set", subject=run, data={"capacity": capacity})
    move_up(actor=actor, run=run)
    return run


@transaction.atomic
def put_first(*, actor: Person, enrolment: Enrolment) -> Enrolment:
    """Put somebody who waits at the head of the list, before whoever was first.

    Raises PermissionDenied for anyone but a lead; Refused for a closed run, and for somebody
    who does not wait or is first already.
    """
    require_lead(actor, enrolment.run.program.provider)
    run = lock_run(enrolment.run)
    waiting = list(waiting_list(run))
    found = next((each for each in waiting if each.pk == enrolment.pk), None)
    if found is None:
        raise Refused(
            _("{person} is not on the waiting list any more.").format(person=enrolment.person)
        )
    if found.pk == waiting[0].pk:
        raise Refused(
            _("{person} is first on the waiting list already.").format(person=enrolment.person)
        )
    since = found.enrolled_at
    found.enrolled_at = waiting[0].enrolled_at - timedelta(microseconds=1)
    found.save(update_fields=["enrolled_at"])
    write_log(
        actor=actor,
        verb="enrolment.put_first",
        subject=found,
        data={"waiting_since": since.isoformat()},
    )
    return found


def move_up(*, actor: Person, run: CourseRun) -> list[Enrolment]:
    """Give the free places of ``run``, which the caller has locked, to the first who wait.

    Each is told, and invited to the sessions still to come when the calendar is published.
    """
    free = places_of(run).free
    first = list(waiting_list(run)[:free])
    for enrolment in first:
        enrolment.run = run
        change_state(enrolment, to=Enrolment.State.ENROLLED, allowed=ENROLMENT_CHANGES)
        enrolment.enrolled_at = timezone.now()
        enrolment.save(update_fields=["enrolled_at"])
        tell_of_place(enrolment.person, run)
        write_log(actor=actor, verb="enrolment.moved_up", subject=enrolment)
    if first:
        people = [enrolment.person for enrolment in first]
        tell_planned(run, coming_sessions(run), people=people)
    return first
