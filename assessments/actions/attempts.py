"""Starting an attempt: a trainee's go at the task under the standard sealed last."""

from collections.abc import Callable, Sequence

from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, transaction
from django.db.models import Max
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from assessments.actions.constraints import violated
from assessments.actions.retaken import record_retake
from assessments.models import Attempt, SealedStandard
from assessments.queries.retakes import Retaking, retaking
from assessments.queries.scope import may_assess
from training.actions.log import write_log
from training.errors import Refused
from training.models import CourseRun, Enrolment, Person
from training.queries.fit import Applies, Missing, day_at, unfit

Follow = Callable[[Person, Attempt, Retaking], None]

# What the database says, in words of what to do.
REFUSALS = {
    "attempt_open_once": N_("An attempt of this trainee is open already: go on scoring that one."),
    "attempt_number_once": N_("Somebody else started an attempt at this moment. Reload the page."),
    "attempt_after_seal": N_("The standard was sealed only now. Start the attempt once more."),
    "attempt_program_of_run": N_("This standard belongs to another program than the course run."),
    "attempt_not_of_source_run": N_(
        "This standard was made from the scores of this very course run, "
        "so it is for later runs: nobody is assessed under what the own work made."
    ),
}

NOT_ON_IT = {
    Enrolment.State.WITHDRAWN: N_("{} is withdrawn from this run: enrol them again first."),
    Enrolment.State.WAITING: N_("{} is on the waiting list of this run: a place comes first."),
}


def start_attempt(
    *, actor: Person, enrolment: Enrolment, standard: SealedStandard | None = None
) -> Attempt:
    """Start the next attempt of an enrolment and return it.

    Without ``standard`` the one sealed last for the run's program counts. After a decided one it
    is a retake of the whole task. Raises PermissionDenied for anybody but a lead or an instructor
    of the run, Refused when the run is not open, the trainee is withdrawn or lacks a paper that
    the practical task asks for today at the site, no standard is sealed, an attempt is open, or
    the rule of retake of the attempt before does not allow another one today.
    """
    return begin(actor, enrolment, standard)


def begin(
    actor: Person,
    enrolment: Enrolment,
    standard: SealedStandard | None = None,
    follow: Follow | None = None,
) -> Attempt:
    """Start an attempt as ``start_attempt`` says; ``follow`` writes what makes it a retake."""
    try:
        with transaction.atomic():
            return _start(actor, enrolment, standard, follow)
    except IntegrityError as error:
        message = REFUSALS.get(violated(error))
        if message is None:
            raise
        raise Refused(message) from error


def _start(
    actor: Person, enrolment: Enrolment, standard: SealedStandard | None, follow: Follow | None
) -> Attempt:
    # The lock makes two starts queue, so that the second one sees the first.
    locked = (
        Enrolment.objects.select_for_update(of=("self",))
        .select_related("run__program", "run__site", "person")
        .get(pk=enrolment.pk)
    )
    _check(actor, locked)
    under = standard or _sealed_last(locked.run)
    before = _before(locked, asked=follow is not None)
    last = locked.attempts.aggregate(last=Max("number"))["last"] or 0
    attempt = Attempt.objects.create(
        enrolment=locked, standard=under, number=last + 1, started_by=actor
    )
    write_log(
        actor=actor,
        verb="attempt.started",
        subject=attempt,
        data={
            "enrolment": str(locked.pk),
            "number": attempt.number,
            "standard_digest": under.digest,
        },
    )
    if before is not None:
        (follow or _whole)(actor, attempt, before)
    return attempt


def _before(enrolment: Enrolment, *, asked: bool) -> Retaking | None:
    """Return how the enrolment stands about going again; refuse where it may not today.

    Once the standard is met a further attempt is none made again, unless that was ``asked`` for:
    it follows no rule of retake, and takes nothing away.
    """
    # The lock makes a review that is asked for at this moment wait, or be seen.
    list(enrolment.attempts.select_for_update(no_key=True).order_by("number").values_list("pk"))
    before = retaking(enrolment)
    if before is None or (before.met and not asked):
        return None
    if before.why_not:
        raise Refused(before.why_not)
    return before


def _whole(actor: Person, attempt: Attempt, before: Retaking) -> None:
    record_retake(actor=actor, attempt=attempt, before=before)


def _check(actor: Person, enrolment: Enrolment) -> None:
    run = enrolment.run
    if not may_assess(actor, run):
        raise PermissionDenied(_("Only a lead or an instructor of the run starts an attempt."))
    if enrolment.person_id == actor.pk:
        raise Refused(_("Nobody assesses the own work: another instructor starts this attempt."))
    if run.state != CourseRun.State.OPEN:
        raise Refused(
            _("This course run is {state}: an attempt starts only while it is open.").format(
                state=run.get_state_display().lower()
            )
        )
    if enrolment.state != Enrolment.State.ENROLLED:
        raise Refused(_(NOT_ON_IT[Enrolment.State(enrolment.state)]).format(enrolment.person))
    if enrolment.attempts.filter(state=Attempt.State.OPEN).exists():
        raise Refused(REFUSALS["attempt_open_once"])
    missing = unfit([enrolment], run.program, day_at(run.site), Applies.PRACTICAL)
    if enrolment.person_id in missing:
        raise Refused(cannot_start(enrolment.person, missing[enrolment.person_id]))


def cannot_start(person: Person, missing: Sequence[Missing]) -> str:
    """Return the sentences for a person who lacks papers: each with what to bring."""
    reasons = " ".join(each.reason for each in missing)
    return _("{person} cannot start the practical task. {reasons}").format(
        person=person, reasons=reasons
    )


def _sealed_last(run: CourseRun) -> SealedStandard:
    standard = run.program.standards.order_by("-serial").first()
    if standard is None:
        raise Refused(
            _(
                "No passing standard of {title} is sealed yet: "
                "a training lead seals one on the program's standard page, then the attempt can "
                "start."
            ).format(title=run.program.title)
        )
    return standard
