"""A lead gives a review to somebody independent; the reviewer may hand it back."""

from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from assessments.actions.reviews.letters import tell_given, tell_stepped_down
from assessments.actions.reviews.words import locked_review, refusal, words
from assessments.models import Review
from assessments.queries.reviews.reviewers import why_not
from training.actions.log import write_log
from training.actions.permission import require_lead
from training.errors import Refused
from training.models import Person

State = Review.State


def give_review(*, actor: Person, review: Review, reviewer: Person) -> Review:
    """Give the review to ``reviewer``, also in place of who had it, and tell that person.

    Raises PermissionDenied for anyone but a lead of the provider; Refused by who asked for it,
    once it is over, and at ``reviewer`` for who scored, decided, is the trainee, or may not sign
    off where the program asks for an authority.
    """
    try:
        with transaction.atomic():
            return _give(actor, review, reviewer)
    except IntegrityError as error:
        raise refusal(error, "reviewer") from error


def _give(actor: Person, review: Review, reviewer: Person) -> Review:
    locked = locked_review(review.pk)
    require_lead(actor, locked.attempt.enrolment.run.program.provider)
    if locked.asked_by_id == actor.pk:
        raise Refused(
            _(
                "You asked for this review, so you do not choose who answers it: another training "
                "lead does. Where there is none, give that role to somebody under People."
            )
        )
    if locked.state not in Review.UNDER_WAY:
        raise Refused(_("This review is over: nobody is asked any more."))
    if locked.reviewer_id == reviewer.pk:
        raise Refused(_("{name} has this review already.").format(name=reviewer), field="reviewer")
    if why := why_not(locked, reviewer):
        raise Refused(
            _("Choose somebody else than {name}. {why}").format(name=reviewer, why=why),
            field="reviewer",
        )
    before = locked.reviewer
    locked.state = State.GIVEN
    locked.reviewer, locked.given_by, locked.given_at = reviewer, actor, timezone.now()
    locked.scored_at = None
    locked.save(update_fields=["state", "reviewer", "given_by", "given_at", "scored_at"])
    tell_given(locked, before)
    write_log(
        actor=actor,
        verb="review.given",
        subject=locked,
        data={"reviewer": str(reviewer.pk), "instead_of": str(before.pk) if before else None},
    )
    return locked


@transaction.atomic
def step_down(*, actor: Person, review: Review, reason: str) -> Review:
    """Hand a review back to the leads, who give it to somebody else.

    Raises PermissionDenied for anyone but the reviewer, Refused without a ``reason``.
    """
    locked = locked_review(review.pk)
    if locked.reviewer_id != actor.pk or locked.state != State.GIVEN:
        raise PermissionDenied("Only who has a review hands it back.")
    text = words(reason, "reason", _("Write why. The training leads read it."))
    locked.state = State.ASKED
    locked.reviewer = locked.given_by = locked.given_at = locked.scored_at = None
    locked.save(update_fields=["state", "reviewer", "given_by", "given_at", "scored_at"])
    tell_stepped_down(locked, actor, text)
    write_log(actor=actor, verb="review.handed_back", subject=locked, data={"reason": text})
    return locked
