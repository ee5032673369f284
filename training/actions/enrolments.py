"""Giving a person a place on a run, and taking it back."""

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from training.actions.identify import identify
from training.actions.invitations import tell_cancelled, tell_planned
from training.actions.log import write_log
from training.actions.permission import require_lead
from training.actions.state import change_state
from training.actions.waiting import ENROLMENT_CHANGES, move_up
from training.errors import Refused
from training.models import CourseRun, Employment, Enrolment, Organisation, Person
from training.queries.calendar import coming_sessions, is_published
from training.queries.employment import not_over
from training.queries.waiting import places_of


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

    When every place is taken the enrolment is one of the waiting list; with a place and a
    published calendar the sessions to come are told. Somebody who withdrew is enrolled again. An
    employer that is the first one known for the
    person is kept as the current one. Raises PermissionDenied for anyone but a lead; Refused
    for a closed run, a name or employer that differs from what is known, and a double.
    """
    require_lead(actor, run.program.provider)
    run = lock_open_run(run)
    if employer is not None and employer.kind != Organisation.Kind.CONTRACTOR:
        raise Refused(
            _("{employer} is not known as a contractor.").format(employer=employer),
            field="employer",
        )
    person = identify(full_name, email)
    if run.instructors.filter(pk=person.pk).exists():
        raise Refused(teaches(person), field="email")
    _keep_employer(person, employer)
    enrolment = _place(run, person, employer)
    waits = enrolment.state == Enrolment.State.WAITING
    if not waits:
        invite_to_coming(run, [person])
    write_log(
        actor=actor,
        verb="enrolment.made",
        subject=enrolment,
        data={
            "run": str(run.pk),
            "person": person.pk,
            "employer": employer.pk if employer else None,
            **({"waiting": True} if waits else {}),
        },
    )
    return enrolment


@transaction.atomic
def withdraw_enrolment(*, actor: Person, enrolment: Enrolment) -> Enrolment:
    """Take the person off the run; what was done on it stays, no new attempt can start.

    The place goes to the first of the waiting list; invitations to sessions to come are cancelled.
    Raises PermissionDenied for anyone but a lead, Refused when it was withdrawn already or
    the run is closed.
    """
    require_lead(actor, enrolment.run.program.provider)
    run = lock_open_run(enrolment.run)
    had_a_place = enrolment.state == Enrolment.State.ENROLLED
    changed = change_state(enrolment, to=Enrolment.State.WITHDRAWN, allowed=ENROLMENT_CHANGES)
    if had_a_place:
        _uninvite(run, enrolment.person)
    write_log(actor=actor, verb="enrolment.withdrawn", subject=changed)
    if had_a_place:
        move_up(actor=actor, run=run)
    return changed


def invite_to_coming(run: CourseRun, people: list[Person]) -> None:
    """Invite people with a new place to what is still to come, if the calendar is published."""
    if people and is_published(run):
        tell_planned(run, coming_sessions(run), people=people)


def _uninvite(run: CourseRun, person: Person) -> None:
    if not is_published(run):
        return
    sessions = coming_sessions(run)
    # A cancellation counts only with a higher number than the invitation (RFC 5546, 2.1.4).
    for session in sessions:
        session.sequence += 1
        session.save(update_fields=["sequence"])
    tell_cancelled(run, sessions, people=[person])


def lock_open_run(run: CourseRun) -> CourseRun:
    """Return ``run`` locked until the transaction ends; raise Refused if it is closed."""
    locked = (
        CourseRun.objects.select_for_update(of=("self",))
        .select_related("program__provider", "site")
        .get(pk=run.pk)
    )
    if locked.state == CourseRun.State.CLOSED:
        raise Refused(_("This run is closed. Open it again to change who is enrolled."))
    return locked


def other_employer(person: Person, employer: Organisation) -> str:
    """Return the sentence for a person who works for somebody else so far as is known."""
    return _(
        "{full_name} is known to work for {employer}. Write that name, or record the "
        "new employer on the person's page first."
    ).format(full_name=person.full_name, employer=employer)


def teaches(person: Person) -> str:
    """Return the sentence for an instructor who is to be enrolled on the own run."""
    return _("{full_name} teaches this run and cannot be a trainee on it.").format(
        full_name=person.full_name
    )


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
    state = Enrolment.State.WAITING if places_of(run).full else Enrolment.State.ENROLLED
    if enrolment is None:
        return Enrolment.objects.create(run=run, person=person, employer=employer, state=state)
    if enrolment.state == Enrolment.State.ENROLLED:
        raise Refused(
            _("{full_name} is enrolled on this run already.").format(full_name=person.full_name),
            field="email",
        )
    if enrolment.state == Enrolment.State.WAITING:
        raise Refused(
            _("{full_name} is on the waiting list of this run already.").format(
                full_name=person.full_name
            ),
            field="email",
        )
    change_state(enrolment, to=state, allowed=ENROLMENT_CHANGES)
    enrolment.employer = employer
    # The row is kept in the order of this column: whoever comes back waits at its end.
    enrolment.enrolled_at = timezone.now()
    enrolment.save(update_fields=["employer", "enrolled_at"])
    return enrolment
