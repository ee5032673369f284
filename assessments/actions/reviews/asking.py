"""A trainee asks that a decision be looked at again, or takes that back."""

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import timedelta
from uuid import UUID, uuid4

from django.core.exceptions import PermissionDenied
from django.core.files.base import ContentFile
from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from assessments.actions.reviews.letters import tell_asked, tell_taken_back
from assessments.actions.reviews.words import locked_review, refusal, words
from assessments.models import Attempt, Review, ReviewPhoto
from assessments.queries.attempts import current_decision
from assessments.queries.calibration.authority import site_day
from assessments.queries.reviews.terms import term_of, why_not_ask
from training.actions.log import write_log
from training.actions.sitelog import MOST, NewPhoto
from training.actions.state import change_state
from training.errors import Refused
from training.models import Person

State = Review.State
TAKEN_BACK: Mapping[str, set[str]] = {state: {State.TAKEN_BACK} for state in Review.UNDER_WAY}
LONGEST_CAPTION = 300


def ask_review(
    *,
    actor: Person,
    attempt: Attempt,
    reason: str,
    photographs: Sequence[NewPhoto] = (),
    review_id: UUID | None = None,
) -> Review:
    """Save and return a review of the attempt's current decision, with its photographs.

    The same ``review_id`` sent again returns what is stored. Raises PermissionDenied for anyone
    but the trainee; Refused without a ``reason``, after the program's term, while one is under
    way, once the result was looked at again, and before there is one. Acknowledging a result
    takes nothing of this right.
    """
    if attempt.enrolment.person_id != actor.pk:
        raise PermissionDenied("Only the trainee asks for a review of the own result.")
    review_id = review_id or uuid4()
    stored = Review.objects.filter(pk=review_id, asked_by=actor, attempt=attempt).first()
    if stored is not None:
        return stored
    try:
        with _files_kept_only_with_rows() as files, transaction.atomic():
            return _ask(actor, attempt, reason, photographs, review_id, files)
    except IntegrityError as error:
        raise refusal(error) from error


def _ask(
    actor: Person,
    attempt: Attempt,
    reason: str,
    photographs: Sequence[NewPhoto],
    review_id: UUID,
    files: list[ReviewPhoto],
) -> Review:
    text = words(reason, "reason", _("Write what should be looked at again, and why."))
    locked = (
        Attempt.objects.select_for_update(of=("self",))
        .select_related("standard", "enrolment__run__site", "enrolment__run__program__provider")
        .get(pk=attempt.pk)
    )
    today = site_day(locked)
    decision = current_decision(locked)
    if why := why_not_ask(locked, decision, today, locked.reviews.all()):
        raise Refused(why)
    assert decision is not None
    review = Review.objects.create(
        id=review_id,
        attempt=locked,
        decision=decision,
        asked_by=actor,
        reason=text,
        answer_by=today + timedelta(days=term_of(locked, decision).answer_days),
    )
    photos = _store(review, photographs, files)
    tell_asked(review)
    write_log(
        actor=actor,
        verb="review.asked",
        subject=review,
        data={
            "attempt": str(locked.pk),
            "decision": str(decision.pk),
            "answer_by": str(review.answer_by),
            "photographs": [photo.sha256 for photo in photos],
        },
    )
    return review


@transaction.atomic
def take_back_review(*, actor: Person, review: Review) -> Review:
    """Take a review back before it is answered; it can be asked for again within the term.

    Raises PermissionDenied for anyone but the trainee, Refused once it is over.
    """
    locked = locked_review(review.pk)
    if locked.asked_by_id != actor.pk:
        raise PermissionDenied("Only who asked for a review takes it back.")
    if locked.state not in Review.UNDER_WAY:
        raise Refused(_("This review is over: there is nothing to take back."))
    change_state(locked, to=State.TAKEN_BACK, allowed=TAKEN_BACK)
    tell_taken_back(locked)
    write_log(actor=actor, verb="review.taken_back", subject=locked)
    return locked


@contextmanager
def _files_kept_only_with_rows() -> Iterator[list[ReviewPhoto]]:
    """Yield a list for photographs whose file was saved: they go where the block fails."""
    saved: list[ReviewPhoto] = []
    try:
        yield saved
    except BaseException:
        for photo in saved:
            photo.file.delete(save=False)
        raise


def _store(
    review: Review, photographs: Sequence[NewPhoto], files: list[ReviewPhoto]
) -> list[ReviewPhoto]:
    if len(photographs) > MOST:
        raise Refused(_("{most} photographs at most go with one review.").format(most=MOST))
    photos: dict[str, ReviewPhoto] = {}
    for new in photographs:
        picture = new.photograph
        if picture.sha256 in photos:
            continue
        photo = ReviewPhoto(
            review=review, sha256=picture.sha256, caption=new.caption[:LONGEST_CAPTION]
        )
        photo.file.save(f"{uuid4()}.jpg", ContentFile(picture.content), save=False)
        files.append(photo)
        photo.save(force_insert=True)
        photos[picture.sha256] = photo
    return list(photos.values())
