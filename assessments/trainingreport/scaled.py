"""Photographs made as small as paper and pages need them, in little memory."""

import io
from typing import IO

from django.utils.translation import gettext_noop as N_
from PIL import Image, ImageOps

from training.pictures import only_whole

PAPER = 1024  # pixels on the long side: 84 mm on paper at 300 to an inch
THUMBNAIL = 480
QUALITY = 82
MOST_PIXELS = 40_000_000
# Kept with the file, and shown in the reader's language.
UNREADABLE = N_(
    "Photograph {number} (“{caption}”) cannot be read any longer. Leave it out, and ask for the "
    "report again."
)


class NotReadableError(ValueError):
    """The bytes are no whole photograph, or one of more than ``MOST_PIXELS``."""


def scaled(file: IO[bytes], longest: int) -> bytes:
    """Return a JPEG of at most ``longest`` pixels a side, upright and without any metadata.

    The decoder itself makes it smaller by 2, 4 or 8 (ITU-T T.81, scaling of the blocks), so that
    the full size never is in memory. Raises NotReadableError.
    """
    target = io.BytesIO()
    try:
        with only_whole(), Image.open(file, formats=["JPEG"]) as image:
            if image.width * image.height > MOST_PIXELS:
                raise NotReadableError("It has more pixels than any photograph taken in.")
            image.draft("RGB", (longest, longest))
            upright = ImageOps.exif_transpose(image).convert("RGB")
            upright.thumbnail((longest, longest))
            upright.info = {}
            upright.save(target, "JPEG", quality=QUALITY)
    except (OSError, SyntaxError, ValueError) as error:
        raise NotReadableError(str(error)) from error
    return target.getvalue()
