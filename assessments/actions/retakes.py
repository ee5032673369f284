"""Making an attempt again: arranging a day for it, giving that up, and starting it."""

from collections.abc import Callable
from datetime import date
from functools import partial

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from assessments.actions.attempts import begin
from assessments.actions.retaken import record_retake
from assessments.models import Attempt, RetakeDay
from assessments.queries.retakes import Retaking, retaking
from assessments.queries.scope import may_assess
from training.actions.log import write_log
from training.errors import Refused
from training.letters import address, send_letter
from training.models import CourseRun, Enrolment, Person

LONGEST_STANDS = 2000
LONGEST_PLACE = 300
LONGEST_REASON = 500
EMAIL = "assessments/email"


def start_retake(*, actor: Person, attempt: Attempt, whole: bool, stands: str = "") -> Attempt:
    """Make ``attempt`` again: the ``whole`` task, or the stages left open; return the new attempt.

    ``stands`` says what ``actor`` saw when looking at the work that stays. Raises what
    start_attempt raises; Refused as well when ``attempt`` is not the one to be made again, at
    ``scope`` where nothing of it can stand, and at ``stands`` when nobody looked at it.
    """
    stands = stands.strip()
    if not whole:
        _check_text(
            stands,
            "stands",
            LONGEST_STANDS,
            _("Look at the work that stays, and write what you saw."),
        )
    follow = partial(_follow, attempt, whole, stands)
    return begin(actor, attempt.enrolment, None, follow)


def _follow(
    of: Attempt, whole: bool, stands: str, actor: Person, attempt: Attempt, before: Retaking
) -> None:
    _check_of(of, before)
    if whole:
        record_retake(actor=actor, attempt=attempt, before=before)
        return
    if before.again.whole:
        raise Refused(
            _("Nothing of this attempt can stand: the whole task is made again."), field="scope"
        )
    record_retake(actor=actor, attempt=attempt, before=before, again=before.again, stands=stands)


@transaction.atomic
def arrange_retake(*, actor: Person, attempt: Attempt, day: date, place: str) -> RetakeDay:
    """Arrange when and where ``attempt`` is made again, and write to the trainee; return the row.

    A day arranged before is replaced. Raises PermissionDenied for anybody but a lead or an
    instructor of the run; Refused for the own work, a closed run, where the attempt cannot be made
    again, at ``day`` for one that is over or earlier than the program allows, and at ``place``.
    """
    place = " ".join(place.split())
    before = _arranged(actor, attempt)
    if before.barred:
        raise Refused(before.barred)
    if day < before.today:
        raise Refused(_("This day is over: choose today or a later one."), field="day")
    if day < before.earliest:
        raise Refused(
            _("The program asks for practice first: the earliest day is {day}.").format(
                day=date_format(before.earliest)
            ),
            field="day",
        )
    _check_text(place, "place", LONGEST_PLACE, _("Write where it is made again."))
    arranged = before.day
    if arranged is not None and (arranged.day, arranged.place) == (day, place):
        return arranged
    row = RetakeDay.objects.create(attempt=before.of, day=day, place=place, made_by=actor)
    _tell(
        before.of.enrolment,
        row,
        (lambda: _("Your retake is on another day"))
        if arranged
        else (lambda: _("A day for your retake")),
        "retake_day",
    )
    write_log(
        actor=actor,
        verb="retake.arranged",
        subject=before.of,
        data={"day": day.isoformat(), "place": place},
    )
    return row


@transaction.atomic
def give_up_retake_day(*, actor: Person, attempt: Attempt, reason: str) -> RetakeDay:
    """Give up the day arranged for making ``attempt`` again, and write to the trainee.

    Raises PermissionDenied for anybody but a lead or an instructor of the run; Refused for the
    own work, where no day is arranged, and at ``reason`` without one.
    """
    reason = reason.strip()
    before = _arranged(actor, attempt)
    if before.day is None:
        raise Refused(_("No day is arranged any more. Reload the page."))
    _check_text(reason, "reason", LONGEST_REASON, _("Write why: the trainee reads it."))
    row = RetakeDay.objects.create(
        attempt=before.of,
        day=before.day.day,
        place=before.day.place,
        cancelled=True,
        reason=reason,
        made_by=actor,
    )
    _tell(before.of.enrolment, row, lambda: _("Your retake is called off"), "retake_day_over")
    write_log(
        actor=actor,
        verb="retake.given_up",
        subject=before.of,
        data={"day": row.day.isoformat(), "reason": reason},
    )
    return row


def _arranged(actor: Person, attempt: Attempt) -> Retaking:
    """Return how the attempt's enrolment stands, locked; check who asks."""
    locked = (
        Enrolment.objects.select_for_update(of=("self",))
        .select_related("run__program", "run__site", "person")
        .get(pk=attempt.enrolment_id)
    )
    if not may_assess(actor, locked.run):
        raise PermissionDenied("Only a lead or an instructor of the run arranges a retake.")
    if locked.person_id == actor.pk:
        raise Refused(_("Nobody arranges the own retake: ask another instructor of the run."))
    if locked.run.state == CourseRun.State.CLOSED:
        raise Refused(_("This course run is closed: enrol on another run to go on."))
    before = retaking(locked)
    if before is None:
        raise Refused(_("No attempt is decided yet: nothing can be made again."))
    _check_of(attempt, before)
    before.of.enrolment = locked
    return before


def _check_of(attempt: Attempt, before: Retaking) -> None:
    if before.of.pk != attempt.pk:
        raise Refused(
            _("Attempt {number} came after this one: open that one to go on.").format(
                number=before.of.number
            )
        )


def _check_text(text: str, field: str, longest: int, missing: str) -> None:
    if not text:
        raise Refused(missing, field=field)
    if "\0" in text:
        raise Refused(_("This holds a character of no meaning: write it again."), field=field)
    if len(text) > longest:
        raise Refused(
            ngettext(
                "This has {count} character: keep it to {most}.",
                "This has {count} characters: keep it to {most}.",
                len(text),
            ).format(count=len(text), most=longest),
            field=field,
        )


def _tell(enrolment: Enrolment, row: RetakeDay, subject: Callable[[], str], template: str) -> None:
    send_letter(
        enrolment.person,
        subject=subject,
        template=f"{EMAIL}/{template}.txt",
        context={
            "row": row,
            "run": enrolment.run,
            "url": address("attempt", pk=row.attempt_id),
        },
    )
