"""The photographs of an attempt, beside what they show."""

from collections.abc import Mapping, Sequence

from django.db.models import OuterRef, Q, QuerySet, Subquery

from assessments.models import Attempt, Photo, PhotoBytes
from assessments.queries.scope import attempts_assessable_by, attempts_visible_to
from training.models import Person

Photos = Mapping[tuple[str, str], Sequence[Photo]]


def with_bytes() -> QuerySet[Photo]:
    """Return photographs with ``came``: when their bytes came; None while they have not."""
    kept = PhotoBytes.objects.filter(sha256=OuterRef("sha256"))
    return Photo.objects.annotate(came=Subquery(kept.values("received_at")))


def photos_of(attempt: Attempt) -> Photos:
    """Return the attempt's photographs by (kind, key) of their subject, as taken (one query)."""
    found: dict[tuple[str, str], list[Photo]] = {}
    rows = with_bytes().filter(attempt=attempt).select_related("assessor")
    for photo in rows.order_by("claimed_at", "seq", "pk"):
        found.setdefault((photo.subject_kind, photo.subject_key), []).append(photo)
    return found


def photos_visible_to(person: Person) -> QuerySet[Photo]:
    """Return the photographs of attempts led, taught, or own and decided."""
    return Photo.objects.filter(
        Q(attempt__in=attempts_assessable_by(person).order_by())
        | Q(
            attempt__in=attempts_visible_to(person).order_by(),
            attempt__state__in=(Attempt.State.DECIDED, Attempt.State.VOID),
        )
    )
