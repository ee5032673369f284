"""That a trainee has read a result and understood it: no consent to it, and no duty."""

from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from assessments.actions.constraints import violated
from assessments.models import Acknowledgement, Attempt, Decision
from assessments.queries.acknowledged import acknowledgement_of
from assessments.queries.scope import attempts_assessable_by
from training.actions.log import write_log
from training.actions.pins import require_pin
from training.errors import Refused
from training.models import Person

WORDS = gettext_noop(
    "I have read this result and what was seen, and I understand it. I need not agree with it: "
    "I keep every right to ask for a review."
)
LONGEST_COMMENT = 2000


def words() -> str:
    """Return what is said by acknowledging, in the active language."""
    return _(WORDS)


def acknowledge(*, actor: Person, decision: Decision, comment: str = "") -> Acknowledgement:
    """Save that ``actor``, on the own account, read the decision about the own work.

    The words are kept in the active language, in which they were shown. Raises PermissionDenied
    for anybody else; Refused when it is acknowledged already, another decision took its place,
    or the comment is too long (at ``comment``).
    """
    if decision.attempt.enrolment.person_id != actor.pk:
        raise PermissionDenied("A result is acknowledged by whom it is about.")
    return _saved(actor, decision, comment, Acknowledgement.Means.OWN, None)


def acknowledge_here(
    *, actor: Person, decision: Decision, pin: str, comment: str = ""
) -> Acknowledgement:
    """Save that the trainee read the decision on the device of ``actor``, who is the witness.

    Raises as ``acknowledge``, PermissionDenied for who may not assess the attempt, and Refused
    at ``pin``. Not to be called inside a transaction: a wrong PIN is counted.
    """
    attempt = decision.attempt
    if not attempts_assessable_by(actor).filter(pk=attempt.pk).exists():
        raise PermissionDenied("Only a lead or an instructor of the run lends a device for this.")
    trainee = attempt.enrolment.person
    # What would be refused anyhow costs no try.
    _check(decision, comment)
    require_pin(person=trainee, pin=pin, actor=actor)
    return _saved(trainee, decision, comment, Acknowledgement.Means.PIN, actor)


def _check(decision: Decision, comment: str) -> str:
    text = comment.strip()
    if len(text) > LONGEST_COMMENT:
        raise Refused(
            _("The comment has {count} characters: keep it to {most}.").format(
                count=len(text), most=LONGEST_COMMENT
            ),
            field="comment",
        )
    if earlier := acknowledgement_of(decision):
        raise Refused(_already(earlier))
    return text


def _saved(
    person: Person, decision: Decision, comment: str, means: str, witness: Person | None
) -> Acknowledgement:
    try:
        with transaction.atomic():
            return _save(person, decision, comment, means, witness)
    except IntegrityError as error:
        if "decision" not in violated(error):
            raise
        # Sent twice at the same moment.
        raise Refused(_("This result is acknowledged already.")) from error


def _save(
    person: Person, decision: Decision, comment: str, means: str, witness: Person | None
) -> Acknowledgement:
    # The lock makes this wait for a review that is being answered.
    attempt = Attempt.objects.select_for_update().get(pk=decision.attempt_id)
    if Decision.objects.filter(replaces=decision).exists():
        raise Refused(_("Another decision took its place by now. Reload the page and read that."))
    if attempt.state == Attempt.State.VOID:
        raise Refused(_("This attempt is void by now: its result counts no more."))
    made = Acknowledgement.objects.create(
        decision=decision,
        person=person,
        means=means,
        witness=witness,
        words=words(),
        comment=_check(decision, comment),
    )
    write_log(
        actor=witness or person,
        verb="decision.acknowledged",
        subject=decision,
        data={"means": means, "person": person.pk, "witness": witness.pk if witness else None},
    )
    return made


def _already(earlier: Acknowledgement) -> str:
    day = date_format(timezone.localtime(earlier.at), "j M Y H:i")
    return _("This result was acknowledged on {day}.").format(day=day)
