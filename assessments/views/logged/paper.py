"""Photographs of the log as they are printed: smaller than they are kept."""

import base64
import uuid
from collections.abc import Iterable
from io import BytesIO

from PIL import Image

from training.pictures import only_whole
from training.queries.sitelog import LogEntry, photo_bytes

LONGEST_SIDE = 1000  # 85 mm at 300 dots an inch


def pictures_for_paper(entries: Iterable[LogEntry]) -> dict[uuid.UUID, str]:
    """Return the data address of each photograph whose file is there, one decoded at a time."""
    found = {}
    for entry in entries:
        for photo in entry.photos:
            content = photo_bytes(photo)
            if content is not None:
                found[photo.pk] = _address(content)
    return found


def _address(content: bytes) -> str:
    with only_whole(), Image.open(BytesIO(content), formats=["JPEG"]) as picture:
        picture.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))
        picture.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
        target = BytesIO()
        picture.save(target, "JPEG", quality=75)
    return f"data:image/jpeg;base64,{base64.b64encode(target.getvalue()).decode()}"
