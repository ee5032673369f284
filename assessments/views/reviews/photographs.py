"""The photographs that a review rests on, to who may see the review."""

import uuid

from django.http import Http404, HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from assessments.models import LoggedEvidence, Photo, PhotoBytes, Review
from assessments.queries.logged import logged_of
from assessments.views.reviews.common import visible_review
from training.queries.sitelog import photo_bytes


@require_safe
def review_photo(request: HttpRequest, pk: uuid.UUID, kind: str, photo: str) -> HttpResponse:
    """Send a JPEG: ``handed`` in with the review, ``scored`` with the attempt, or of the ``log``.

    A reviewer need not teach the run; so the review opens what it rests on, and nothing else.
    """
    _person, review = visible_review(request, pk)
    content = _FOUND[kind](review, photo) if kind in _FOUND else None
    if content is None:
        raise Http404("There is no such photograph.")
    response = HttpResponse(content, content_type="image/jpeg")
    response["X-Content-Type-Options"] = "nosniff"
    response["Cache-Control"] = "private, no-store"
    response["Content-Disposition"] = 'inline; filename="photograph.jpg"'
    return response


def _handed(review: Review, photo: str) -> bytes | None:
    found = review.photos.filter(pk=int(photo)).first() if photo.isdecimal() else None
    if found is None:
        return None
    try:
        with found.file.open("rb") as file:
            content: bytes = file.read()
    except (FileNotFoundError, ValueError):  # taken out by an erasure
        return None
    return content


def _scored(review: Review, photo: str) -> bytes | None:
    pk = _uuid(photo)
    found = Photo.objects.filter(pk=pk, attempt=review.attempt_id).first() if pk else None
    kept = PhotoBytes.objects.filter(pk=found.sha256).first() if found else None
    if kept is None:
        return None
    with kept.file.open("rb") as file:
        content: bytes = file.read()
    return content


def _logged(review: Review, photo: str) -> bytes | None:
    pk = _uuid(photo)
    if pk is None or not LoggedEvidence.objects.filter(attempt=review.attempt_id).exists():
        return None
    shown = [each for rows in logged_of(review.attempt).values() for each in rows]
    found = next((row for each in shown for row in each.photos if row.pk == pk), None)
    return photo_bytes(found) if found else None


def _uuid(text: str) -> uuid.UUID | None:
    try:
        return uuid.UUID(text)
    except ValueError:
        return None


_FOUND = {"handed": _handed, "scored": _scored, "log": _logged}
