"""What the actions about reviews share: texts that are asked for, rows that are locked."""

from uuid import UUID

from django.db import IntegrityError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from assessments.actions.constraints import violated
from assessments.models import Attempt, Review
from assessments.queries.reviews.scope import PARTS
from training.errors import Refused

LONGEST = 2000
# What the database says, in words of what to do.
REFUSALS = {
    "review_of_decision_once": N_("A review of this result was asked for already."),
    "review_under_way_once": N_("A review of this attempt is under way already."),
    "review_of_current_decision": N_("Another result counts by now. Reload the page and read it."),
    "review_independent": N_(
        "Whoever scored something of this attempt, or decided it, does not look at it again: "
        "choose somebody else."
    ),
    "review_reviewer_is_another": N_("Nobody looks again at the own result: choose somebody else."),
    "review_score_by_reviewer": N_("This review is no longer with you. Reload the page."),
    "review_scored_blind": N_(
        "The earlier scores were shown already, so nothing more is scored. Write what you think "
        "in the reasons."
    ),
    "review_score_first_once": N_("This was scored meanwhile, in another window. Reload the page."),
    "review_score_seen_or_said_why": N_("Write why the evidence does not show it."),
    "decision_by_authorised": N_(
        "You are not authorised to sign off under this program any more, so you cannot change its "
        "result. Hand the review back; a training lead gives it to somebody who is authorised."
    ),
}


def words(text: str, field: str, missing: str) -> str:
    """Return ``text`` without space around it; Refused at ``field`` when empty or too long."""
    text = text.strip()
    if not text:
        raise Refused(missing, field=field)
    if len(text) > LONGEST:
        raise Refused(
            _("This has {length} characters: keep it to {most}.").format(
                length=len(text), most=LONGEST
            ),
            field=field,
        )
    return text


def refusal(error: IntegrityError, field: str | None = None) -> Exception:
    """Return what the database refused in words; ``error`` itself where none are known."""
    message = REFUSALS.get(violated(error))
    return Refused(_(message), field=field) if message else error


def locked_review(pk: UUID) -> Review:
    """Return the review with its parts, locked behind its attempt; in the caller's transaction.

    The attempt is always locked first: whoever asks, signs off or starts again does so, too.
    """
    review = Review.objects.only("attempt_id").get(pk=pk)
    Attempt.objects.select_for_update(of=("self",)).only("pk").get(pk=review.attempt_id)
    return Review.objects.select_for_update(of=("self",)).select_related(*PARTS).get(pk=pk)
