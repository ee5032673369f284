"""The outcome of a review: upheld, changed, or the attempt void; and what follows from it."""

from collections.abc import Mapping
from typing import Any

from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from assessments.actions.reviews.letters import tell_answered
from assessments.actions.reviews.scoring import require_reviewer
from assessments.actions.reviews.words import locked_review, refusal, words
from assessments.engine import VERSION, decide
from assessments.engine.canonical import digest
from assessments.engine.errors import EngineError
from assessments.models import Attempt, Decision, Review
from assessments.queries.reviews.sheet import second_document
from assessments.reviewed import call_all
from training.actions.log import write_log
from training.actions.state import change_state
from training.errors import Refused
from training.models import Person
from training.said import said

Outcome = Review.Outcome
CAN_STAND = (Decision.Result.MET, Decision.Result.NOT_YET_MET)
MADE_VOID: Mapping[str, set[str]] = {Attempt.State.DECIDED: {Attempt.State.VOID}}


def answer_review(
    *, actor: Person, review: Review, outcome: str, answer: str, password_checked: bool
) -> Review:
    """Save the outcome with its reasons, and everything that follows, in one transaction.

    ``changed``: the engine decides anew on the observations in which the reviewer's scores stand,
    and that decision, signed by ``actor``, replaces the one reviewed; ``void``: the attempt
    counts no more. ``password_checked`` says that ``actor`` gave the own password for this very
    act. Raises PermissionDenied for anyone but the reviewer; Refused at ``password``,
    ``outcome`` or ``answer``, before every criterion was scored, and where the engine comes to no
    result that can stand.
    """
    try:
        with transaction.atomic():
            return _answer(actor, review, outcome, answer, password_checked)
    except IntegrityError as error:
        raise refusal(error, "outcome") from error


def _answer(
    actor: Person, review: Review, outcome: str, answer: str, password_checked: bool
) -> Review:
    locked = locked_review(review.pk)
    require_reviewer(actor, locked)
    if locked.scored_at is None:
        raise Refused(_("Score every criterion first; then the earlier scores are shown."))
    if outcome not in Outcome.values:
        raise Refused(_("Choose what comes of the review."), field="outcome")
    text = words(answer, "answer", _("Write the reasons. The trainee reads them."))
    if not password_checked:
        raise Refused(_("Sign with your password."), field="password")
    locked.outcome, locked.answer = outcome, text
    locked.state, locked.answered_at = Review.State.ANSWERED, timezone.now()
    if outcome == Outcome.CHANGED:
        locked.result = _decision(actor, locked, text)
    if outcome == Outcome.VOID:
        change_state(locked.attempt, to=Attempt.State.VOID, allowed=MADE_VOID)
    locked.save(update_fields=["state", "outcome", "answer", "answered_at", "result"])
    call_all(locked, actor)
    tell_answered(locked)
    write_log(actor=actor, verb="review.answered", subject=locked, data=_told(locked))
    return locked


def _decision(actor: Person, review: Review, reasons: str) -> Decision:
    """Return the decision that takes the place of the one reviewed."""
    observations = second_document(review)
    try:
        document = decide(review.attempt.standard.document, observations)
    except EngineError as error:
        raise Refused(
            _("The engine cannot decide on this: {why}").format(why=said(str(error))),
            field="outcome",
        ) from error
    if document["result"] not in CAN_STAND:
        raise Refused(
            _(
                "With your scores there is no result that can stand: it would be neither met nor "
                "not yet met. Uphold the result, or make the attempt void, and write the reasons."
            ),
            field="outcome",
        )
    return Decision.objects.create(
        attempt=review.attempt,
        standard_digest=review.attempt.standard.digest,
        result=document["result"],
        document=document,
        observations=observations,
        engine_version=VERSION,
        note=reasons,
        decided_by=actor,
        replaces=review.decision,
    )


def _told(review: Review) -> dict[str, Any]:
    made = review.result
    return {
        "attempt": str(review.attempt_id),
        "decision": str(review.decision_id),
        "outcome": review.outcome,
        "result": None
        if made is None
        else {
            "decision": str(made.pk),
            "result": made.result,
            "document_digest": digest(made.document),
            "observations_digest": digest(made.observations),
        },
    }
