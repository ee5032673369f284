"""From a file that somebody sends to a JPEG to keep: small, upright, and only a picture."""

import struct
import warnings
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from io import BytesIO
from math import ceil

from django.core.files.base import File
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_
from PIL import Image, UnidentifiedImageError

from training.errors import Refused
from training.photographs.facts import Taken, taken_of
from training.photographs.foreign import foreign
from training.photographs.picture import upright_rgb
from training.pictures import only_whole

MEGABYTE = 1024 * 1024
LARGEST = 25 * MEGABYTE
LONGEST_SIDE = 2048
SMALLEST_SIDE = 16
QUALITY = 85
# A JPEG is decoded at half, a quarter or an eighth of its size (libjpeg), a PNG or WebP whole: 4
# bytes a pixel (Pillow).
MOST_PIXELS = {"JPEG": 60_000_000, "PNG": 25_000_000, "WEBP": 25_000_000}
BAD = (
    UnidentifiedImageError,
    Image.DecompressionBombError,
    OSError,
    SyntaxError,
    ValueError,
    EOFError,
    struct.error,
)
TAKE = N_("Send a JPEG, PNG or WebP picture.")


@dataclass(frozen=True)
class Photograph:
    """A JPEG (sRGB, no metadata) with its size in pixels, and when the camera says it was taken.

    ``taken`` is naive unless the camera wrote its offset from UTC.
    """

    content: bytes
    width: int
    height: int
    taken: datetime | None = None

    @property
    def sha256(self) -> str:
        """The digest of the bytes, in lowercase hex."""
        return sha256(self.content).hexdigest()


def read_photograph(file: "File[bytes]", *, field: str | None = None) -> Photograph:
    """Return the picture in a file, or raise Refused, at ``field``, with what to do.

    What the file holds says what it is, never its name. Nothing but the picture is kept: no
    place, no device, no thumbnail. Its size in bytes is looked at before it is read, its size in
    pixels before it is decoded.
    """
    size = file.size or 0
    if size > LARGEST:
        raise Refused(
            _(
                "This file has {size} MB: {most} MB at most. Take the "
                "photograph with a smaller picture size, or send a smaller copy."
            ).format(size=ceil(size / MEGABYTE), most=LARGEST // MEGABYTE),
            field=field,
        )
    if not size:
        raise Refused(_("This file is empty: choose the photograph once more."), field=field)
    file.seek(0)
    data = file.read()
    if why := foreign(data):
        raise Refused(why, field=field)
    try:
        picture, taken = _decoded(data)
    except Refused as refused:
        raise Refused(refused.message, field=field) from None
    except BAD:
        raise Refused(
            _(
                "This file is no whole photograph, whatever its name says: it is cut short, "
                "damaged, or no picture at all. {take} If it is one, send it again."
            ).format(take=_(TAKE)),
            field=field,
        ) from None
    target = BytesIO()
    picture.save(target, "JPEG", quality=QUALITY, optimize=True)
    return Photograph(target.getvalue(), picture.width, picture.height, taken)


def _decoded(data: bytes) -> tuple[Image.Image, Taken]:
    # Pillow warns of pictures that would fill the memory (refused here) and of broken Exif data
    # (not kept).
    with warnings.catch_warnings(), only_whole():
        warnings.simplefilter("ignore")
        with Image.open(BytesIO(data), formats=list(MOST_PIXELS)) as picture:
            _check_size(picture)
            taken = taken_of(picture)
            picture.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))
            picture.load()
            picture.thumbnail((LONGEST_SIDE, LONGEST_SIDE), Image.Resampling.LANCZOS)
            return upright_rgb(picture), taken


def _check_size(picture: Image.Image) -> None:
    width, height = picture.size
    kind = "JPEG" if picture.format == "MPO" else str(picture.format)
    if width * height > MOST_PIXELS[kind]:
        raise Refused(
            _(
                "This picture has {width} × {height} pixels: {most_pixels} million "
                "in all at most. Take the photograph with a smaller picture size, or send a "
                "smaller copy."
            ).format(width=width, height=height, most_pixels=MOST_PIXELS[kind] // 1_000_000)
        )
    if min(width, height) < SMALLEST_SIDE:
        raise Refused(
            _(
                "This picture has {width} × {height} pixels: nothing can be seen on it. Choose "
                "another one."
            ).format(width=width, height=height)
        )
