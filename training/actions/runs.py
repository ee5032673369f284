"""Planning a course run, naming who teaches it, opening and closing it."""

from collections.abc import Mapping, Sequence
from datetime import date

from django.db import transaction
from django.utils.translation import gettext as _

from training.actions.log import write_log
from training.actions.permission import require_lead
from training.actions.state import change_state
from training.errors import Refused
from training.models import CourseRun, Person, Program, Role, Site

LONGEST_RUN = 366  # days; a longer one is a mistyped year
RUN_CHANGES: Mapping[str, set[str]] = {
    CourseRun.State.PLANNED: {CourseRun.State.OPEN},
    CourseRun.State.OPEN: {CourseRun.State.CLOSED},
    CourseRun.State.CLOSED: {CourseRun.State.OPEN},
}


@transaction.atomic
def create_run(
    *,
    actor: Person,
    program: Program,
    site: Site,
    starts_on: date,
    ends_on: date,
    instructors: Sequence[Person] = (),
) -> CourseRun:
    """Save and return a planned run of ``program``.

    Raises PermissionDenied for anyone but a lead of the provider; Refused for another
    provider's site, dates in the wrong order, or an instructor who does not teach there.
    """
    require_lead(actor, program.provider)
    if site.provider_id != program.provider_id:
        raise Refused(
            _("{site} is not a site of {provider}.").format(site=site, provider=program.provider),
            field="site",
        )
    if ends_on < starts_on:
        raise Refused(_("The last day is before the first: change one of them."), field="ends_on")
    if (ends_on - starts_on).days >= LONGEST_RUN:
        raise Refused(
            _("This run would last more than {count} days: check the years.").format(
                count=LONGEST_RUN
            ),
            field="ends_on",
        )
    for person in instructors:
        _must_teach(person, program)
    run = CourseRun.objects.create(program=program, site=site, starts_on=starts_on, ends_on=ends_on)
    run.instructors.set(instructors)
    write_log(
        actor=actor,
        verb="run.created",
        subject=run,
        data={
            "program": str(program.pk),
            "site": site.pk,
            "starts_on": starts_on.isoformat(),
            "ends_on": ends_on.isoformat(),
            "instructors": sorted(person.pk for person in instructors),
        },
    )
    return run


@transaction.atomic
def add_instructor(*, actor: Person, run: CourseRun, person: Person) -> None:
    """Let ``person`` teach and score on ``run``.

    Raises PermissionDenied for anyone but a lead; Refused for a closed run, and for a person
    who is no instructor of the provider, teaches the run already, or is a trainee on it.
    """
    require_lead(actor, run.program.provider)
    run = CourseRun.objects.select_for_update(of=("self",)).get(pk=run.pk)
    if run.state == CourseRun.State.CLOSED:
        raise Refused(_("This run is closed. Open it again to change who teaches it."))
    _must_teach(person, run.program, field="person")
    if run.instructors.filter(pk=person.pk).exists():
        raise Refused(_("{person} teaches this run already.").format(person=person), field="person")
    if run.enrolments.filter(person=person).exclude(state="withdrawn").exists():
        raise Refused(
            _("{person} is a trainee on this run, or waits for a place.").format(person=person),
            field="person",
        )
    run.instructors.add(person)
    write_log(actor=actor, verb="run.instructor_added", subject=run, data={"person": person.pk})


def open_run(*, actor: Person, run: CourseRun) -> CourseRun:
    """Open a planned run, or a closed one again; attempts can then be started on it."""
    return _change(actor, run, CourseRun.State.OPEN, "run.opened")


def close_run(*, actor: Person, run: CourseRun) -> CourseRun:
    """Close an open run: nobody can be enrolled on it any more."""
    return _change(actor, run, CourseRun.State.CLOSED, "run.closed")


@transaction.atomic
def _change(actor: Person, run: CourseRun, to: CourseRun.State, verb: str) -> CourseRun:
    require_lead(actor, run.program.provider)
    if to == CourseRun.State.OPEN and not run.instructors.exists():
        raise Refused(_("Nobody teaches this run yet: add an instructor first."))
    changed = change_state(run, to=to, allowed=RUN_CHANGES)
    write_log(actor=actor, verb=verb, subject=changed)
    return changed


def _must_teach(person: Person, program: Program, field: str = "instructors") -> None:
    teaches = Role.objects.filter(
        person=person, organisation=program.provider, kind=Role.Kind.INSTRUCTOR
    )
    if not teaches.exists():
        raise Refused(
            _("{person} is not an instructor of {provider}.").format(
                person=person, provider=program.provider
            ),
            field=field,
        )
