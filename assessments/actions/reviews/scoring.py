"""A reviewer scores from photographs and readings alone, before the earlier scores are shown."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID, uuid4

from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from assessments.actions.reviews.words import REFUSALS, locked_review, refusal, words
from assessments.engine.canonical import digest
from assessments.engine.errors import EngineError
from assessments.engine.judge import CLEARED
from assessments.engine.standard import load_standard
from assessments.models import Review, ReviewScore
from assessments.queries.reviews.scope import may_review
from assessments.queries.reviews.second import READ_ON_SITE, judged
from assessments.queries.reviews.sheet import current_scores, given_of
from assessments.subjects import CRITERION, Subject, find_subject, subjects_of
from training.actions.log import write_log
from training.errors import Refused
from training.models import Person
from training.said import said

Value = Mapping[str, Any]


def score_review(
    *,
    actor: Person,
    review: Review,
    criterion: str,
    value: Value | None,
    note: str = "",
    score_id: UUID | None = None,
) -> ReviewScore:
    """Save how the reviewer scores a criterion; a new score takes the place of the own earlier.

    ``value`` is an observation's (engine/FORMATS.md); of a measured or timed criterion it is one
    of those read on the piece; None where the evidence does not show it, and ``note`` says why.
    The same ``score_id`` sent again returns what is stored. Raises PermissionDenied for anyone
    but the reviewer; Refused at ``value`` or ``note``, and once the earlier scores were shown.
    """
    try:
        with transaction.atomic():
            return _score(actor, review, criterion, value, note, score_id or uuid4())
    except IntegrityError as error:
        raise refusal(error) from error


def _score(
    actor: Person, review: Review, criterion: str, value: Value | None, note: str, pk: UUID
) -> ReviewScore:
    locked = _scored_by(actor, review)
    stored = ReviewScore.objects.filter(pk=pk, review=locked, by=actor).first()
    if stored is not None:
        return stored
    subject = find_subject(subjects_of(locked.attempt.standard.document), CRITERION, criterion)
    if subject is None:
        raise Refused(_("The standard has no criterion {key}.").format(key=criterion))
    if value is None:
        note = words(note, "note", _("Write why the evidence does not show it."))
    else:
        _check(locked, subject, value)
        note = words(note, "note", "") if note.strip() else ""
    earlier = current_scores(locked).get(criterion)
    score = _saved(actor, locked, criterion, value, note, pk, earlier)
    write_log(
        actor=actor,
        verb="review.scored",
        subject=score,
        data={
            "review": str(locked.pk),
            "criterion": criterion,
            "digest": digest({"value": value, "note": note}),
            "replaces": str(earlier.pk) if earlier else None,
        },
    )
    return score


@transaction.atomic
def leave_rest(*, actor: Person, review: Review, reason: str) -> int:
    """Say of every criterion not scored yet that the evidence does not show it; how many.

    Raises PermissionDenied for anyone but the reviewer; Refused without a ``reason``, and where
    nothing is left.
    """
    locked = _scored_by(actor, review)
    text = words(reason, "reason", _("Write why the evidence does not show it."))
    scores = current_scores(locked)
    left = [
        row["key"]
        for row in locked.attempt.standard.document["criteria"]
        if row["key"] not in scores
    ]
    if not left:
        raise Refused(_("Every criterion is scored already."))
    for key in left:
        _saved(actor, locked, key, None, text, uuid4(), None)
    write_log(
        actor=actor, verb="review.rest_left", subject=locked, data={"criteria": left, "why": text}
    )
    return len(left)


@transaction.atomic
def finish_scoring(*, actor: Person, review: Review) -> Review:
    """End the blind scoring: the earlier scores are shown, and nothing more is scored.

    Raises PermissionDenied for anyone but the reviewer, Refused while a criterion is left.
    """
    locked = _scored_by(actor, review)
    criteria = locked.attempt.standard.document["criteria"]
    left = len(criteria) - len(current_scores(locked))
    if left:
        raise Refused(
            ngettext(
                "{count} criterion is still to be scored: score it, or say that the evidence does "
                "not show it.",
                "{count} criteria are still to be scored: score them, or say that the evidence "
                "does not show them.",
                left,
            ).format(count=left)
        )
    locked.scored_at = timezone.now()
    locked.save(update_fields=["scored_at"])
    write_log(actor=actor, verb="review.scored_through", subject=locked)
    return locked


def require_reviewer(actor: Person, review: Review) -> None:
    """Raise PermissionDenied unless the review is with ``actor``, who still works there."""
    if review.reviewer_id != actor.pk or review.state != Review.State.GIVEN:
        raise PermissionDenied("Only who has a review works on it.")
    if not may_review(actor, review):
        raise PermissionDenied("Only a lead or an instructor of the provider works on a review.")


def _scored_by(actor: Person, review: Review) -> Review:
    locked = locked_review(review.pk)
    require_reviewer(actor, locked)
    if locked.scored_at is not None:
        raise Refused(_(REFUSALS["review_scored_blind"]))
    return locked


def _check(review: Review, subject: Subject, value: Value) -> None:
    """Refuse a value that the criterion cannot have, or that nobody read on the piece."""
    if subject.form_kind in READ_ON_SITE:
        if value not in given_of(review, subject):
            raise Refused(
                _("Accept what was read on the piece, or write why it cannot be relied on."),
                field="value",
            )
        return
    standard = load_standard(review.attempt.standard.document)
    try:
        result = judged(standard, subject.key, dict(value))
    except EngineError as error:
        raise Refused(said(str(error)), field="value") from error
    if CLEARED in value or result.result == "missing":
        raise Refused(_("Score the criterion, or say why the evidence does not show it."))


def _saved(
    actor: Person,
    review: Review,
    criterion: str,
    value: Value | None,
    note: str,
    pk: UUID,
    earlier: ReviewScore | None,
) -> ReviewScore:
    return ReviewScore.objects.create(
        id=pk,
        review=review,
        criterion=criterion,
        value=None if value is None else dict(value),
        note=note,
        by=actor,
        replaces=earlier,
    )
