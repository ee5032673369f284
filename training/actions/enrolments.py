"""Giving a person a place on a run, and taking it back."""

from collections.abc import Mapping

from django.db import transaction
from django.utils import timezone

from training.actions.identify import identify
from training.actions.log import write_log
from training.actions.permission import require_lead
from training.actions.state import change_state
from training.errors import Refused
from training.models import CourseRun, Employment, Enrolment, Organisation, Person
from training.queries.employment import not_over

ENROLMENT_CHANGES: Mapping[str, set[str]] = {
    Enrolment.State.ENROLLED: {Enrolment.State.WITHDRAWN},
    Enrolment.State.WITHDRAWN: {Enrolment.State.ENROLLED},
}


@transaction.atomic
def enrol_person(
    *,
    actor: Person,
    run: CourseRun,
    full_name: str,
    email: str,
    employer: Organisation | None = None,
) -> Enrolment:
    """Enrol the person with this e-mail address, made known first if nobody has it.

    Somebody who withdrew is enrolled again. An employer that is the first one known for the
    person is kept as the current one. Raises PermissionDenied for anyone but a lead; Refused
    for a closed run, a name or employer that differs from what is known, and a double.
    """
    require_lead(actor, run.program.provider)
    run = lock_open_run(run)
    if employer is not None and employer.kind != Organisation.Kind.CONTRACTOR:
        raise Refused(f"{employer} is not known as a contractor.", field="employer")
    person = identify(full_name, email)
    if run.instructors.filter(pk=person.pk).exists():
        raise Refused(teaches(person), field="email")
    _keep_employer(person, employer)
    enrolment = _place(run, person, employer)
    write_log(
        actor=actor,
        verb="enrolment.made",
        subject=enrolment,
        data={
            "run": str(run.pk),
            "person": person.pk,
            "employer": employer.pk if employer else None,
        },
    )
    return enrolment


@transaction.atomic
def withdraw_enrolment(*, actor: Person, enrolment: Enrolment) -> Enrolment:
    """Take the person off the run; what was done on it stays, no new attempt can start.

    Raises PermissionDenied for anyone but a lead, Refused when it was withdrawn already or
    the run is closed.
    """
    require_lead(actor, enrolment.run.program.provider)
    lock_open_run(enrolment.run)
    changed = change_state(enrolment, to=Enrolment.State.WITHDRAWN, allowed=ENROLMENT_CHANGES)
    write_log(actor=actor, verb="enrolment.withdrawn", subject=changed)
    return changed


def lock_open_run(run: CourseRun) -> CourseRun:
    """Return ``run`` locked until the transaction ends; raise Refused if it is closed."""
    locked = (
        CourseRun.objects.select_for_update(of=("self",))
        .select_related("program__provider")
        .get(pk=run.pk)
    )
    if locked.state == CourseRun.State.CLOSED:
        raise Refused("This run is closed. Open it again to change who is enrolled.")
    return locked


def other_employer(person: Person, employer: Organisation) -> str:
    """Return the sentence for a person who works for somebody else so far as is known."""
    return (
        f"{person.full_name} is known to work for {employer}. Write that name, or record the "
        "new employer on the person's page first."
    )


def teaches(person: Person) -> str:
    """Return the sentence for an instructor who is to be enrolled on the own run."""
    return f"{person.full_name} teaches this run and cannot be a trainee on it."


def _keep_employer(person: Person, employer: Organisation | None) -> None:
    if employer is None:
        return
    current = (
        not_over(Employment.objects.filter(person=person))
        .select_related("organisation")
        .order_by("since")
        .first()
    )
    if current is None:
        Employment.objects.create(person=person, organisation=employer, since=timezone.localdate())
    elif current.organisation_id != employer.pk:
        raise Refused(other_employer(person, current.organisation), field="employer")


def _place(run: CourseRun, person: Person, employer: Organisation | None) -> Enrolment:
    enrolment = Enrolment.objects.filter(run=run, person=person).first()
    if enrolment is None:
        return Enrolment.objects.create(run=run, person=person, employer=employer)
    if enrolment.state == Enrolment.State.ENROLLED:
        raise Refused(f"{person.full_name} is enrolled on this run already.", field="email")
    change_state(enrolment, to=Enrolment.State.ENROLLED, allowed=ENROLMENT_CHANGES)
    enrolment.employer = employer
    enrolment.save(update_fields=["employer"])
    return enrolment
