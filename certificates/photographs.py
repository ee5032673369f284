"""The photographs of an attempt as its record names them, and their bytes."""

import hashlib
import logging
from collections.abc import Mapping
from typing import Any
from zoneinfo import ZoneInfo

from assessments.models import Attempt, Observation, Photo, PhotoBytes
from certificates.rendering import RenderingError

log = logging.getLogger(__name__)


def photographs_of(attempt: Attempt, zone: ZoneInfo) -> list[dict[str, Any]]:
    """Return the member ``photos`` of a record: what the attempt's photographs show, as taken.

    ``sha256``, ``width`` and ``height`` are those of the photograph that was taken in; what the
    paper shows is smaller. ``claimed_at`` is when it was taken, as the device says.
    """
    document = attempt.standard.document
    stages = {row["key"]: row["stage"] for row in document["criteria"]}
    rows = Photo.objects.filter(attempt=attempt).select_related("assessor")
    return [
        {
            "id": str(photo.pk),
            "subject": {"kind": photo.subject_kind, "key": photo.subject_key},
            "stage": _stage(photo, stages),
            "sha256": photo.sha256,
            "width": photo.width,
            "height": photo.height,
            "claimed_at": photo.claimed_at.astimezone(zone).isoformat(timespec="seconds"),
            "by": photo.assessor.full_name,
        }
        for photo in rows.order_by("claimed_at", "seq", "pk")
    ]


def _stage(photo: Photo, stages: Mapping[str, str]) -> str:
    """Return the key of the stage; a hold point has that of its stage."""
    if photo.subject_kind == Observation.Subject.CRITERION:
        return stages[photo.subject_key]
    return photo.subject_key


def bytes_of_photographs(document: Mapping[str, Any]) -> dict[str, bytes]:
    """Return the bytes of the photographs in a record document by their SHA-256.

    Those that the device has not sent yet are left out. Raises RenderingError where bytes that
    came cannot be read, or are others now.
    """
    wanted = {row["sha256"] for row in document.get("photos", [])}
    return {kept.sha256: _read(kept) for kept in PhotoBytes.objects.filter(sha256__in=wanted)}


def _read(kept: PhotoBytes) -> bytes:
    try:
        with kept.file.open("rb") as file:
            data: bytes = file.read()
    # An object store raises its own types; whatever it was, the file cannot be had.
    except Exception as error:
        log.exception("the photograph %s cannot be read", kept.file.name)
        raise RenderingError(
            "A photograph of the attempt cannot be read from the storage. Ask whoever runs the "
            "server to look at its log."
        ) from error
    if hashlib.sha256(data).hexdigest() != kept.sha256:
        log.error("the photograph %s was changed in the storage", kept.file.name)
        raise RenderingError(
            "A photograph of the attempt was changed in the storage since it was taken in. Ask "
            "whoever runs the server to put it back."
        )
    return data
