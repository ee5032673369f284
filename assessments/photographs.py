"""Whether bytes are a photograph to keep: a whole JPEG, not too large, that tells no place."""

import hashlib
import io
import struct
from collections.abc import Iterable

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_
from PIL import Image, UnidentifiedImageError
from PIL.ExifTags import IFD, Base

from training.errors import Refused
from training.jpeg import NotWholeError, parts_of
from training.pictures import only_whole

LARGEST_BYTES = 400 * 1024
LONGEST_SIDE = 6000
MOST_PIXELS = 16_000_000
SMALLEST_SIDE = 16
APP0, APP1, APP2, APP13, APP14, APP15, COMMENT = 0xE0, 0xE1, 0xE2, 0xED, 0xEE, 0xEF, 0xFE
ASIDE = {*range(APP0, APP15 + 1), COMMENT}  # segments that are no part of the picture
EXIF, ICC = b"Exif\0\0", b"ICC_PROFILE\0"
# What the canvas of an iPhone writes around nothing: no caption, and the digest of it
# (from memory).
NO_CAPTION = (
    b"Photoshop 3.0\0"
    b"8BIM\x04\x04\0\0\0\0\0\0"
    b"8BIM\x04\x25\0\0\0\0\0\x10" + hashlib.md5(b"", usedforsecurity=False).digest()
)
# The entry that points to the GPS data, in either byte order, as a LONG or an IFD: found so even
# in Exif data too broken for a reader (Exif 2.32, 4.6.3).
GPS_ENTRIES = (b"\x88\x25\0\x04", b"\x88\x25\0\x0d", b"\x25\x88\x04\0", b"\x25\x88\x0d\0")
NOT_JPEG = N_("This is not a JPEG photograph. Take it again on the scoring page, which sends JPEG.")
BROKEN = N_("The photograph is cut short or damaged. Send it again from the device that took it.")
TELLS_PLACE = N_(
    "The photograph holds, or may hold, where it was taken ({what}). The device strips this "
    "before it stores a photograph; take it again on the scoring page."
)
MORE = N_("The file holds more than a photograph ({what}). Take it again on the scoring page.")


def check_photograph(data: bytes) -> tuple[int, int]:
    """Return (width, height) in pixels, or raise Refused with a sentence that says what to do."""
    if len(data) > LARGEST_BYTES:
        raise Refused(
            _(
                "The photograph has {count} bytes: at most {most} (400 kB) are "
                "taken. "
                "The scoring page makes it smaller before it is stored."
            ).format(count=len(data), most=LARGEST_BYTES)
        )
    if not data.startswith(b"\xff\xd8\xff"):
        raise Refused(NOT_JPEG)
    try:
        parts = parts_of(data)
    except NotWholeError:
        raise Refused(BROKEN) from None
    # Before anything is decoded: a header may claim what would fill the memory.
    _check_size(parts.width, parts.height)
    _check_segments(parts.segments)
    if parts.end != len(data):
        raise Refused(
            _(MORE).format(
                what=_("{count} bytes after its end").format(count=len(data) - parts.end)
            )
        )
    try:
        with only_whole(), Image.open(io.BytesIO(data), formats=["JPEG"]) as image:
            _check_exif(image.getexif())
            image.load()
            return image.size
    except (UnidentifiedImageError, OSError, SyntaxError, ValueError, struct.error):
        raise Refused(BROKEN) from None


def _check_size(width: int, height: int) -> None:
    if max(width, height) > LONGEST_SIDE or width * height > MOST_PIXELS:
        raise Refused(
            _(
                "The photograph claims {width} × {height} pixels: at most {longest_side} on the "
                "long "
                "side and {most_pixels} million in all are taken."
            ).format(
                width=width,
                height=height,
                longest_side=LONGEST_SIDE,
                most_pixels=MOST_PIXELS // 1_000_000,
            )
        )
    if min(width, height) < SMALLEST_SIDE:
        raise Refused(
            _("The photograph has {width} × {height} pixels: nothing can be seen on it.").format(
                width=width, height=height
            )
        )


def _check_segments(segments: Iterable[tuple[int, bytes]]) -> None:
    aside = [(marker, content) for marker, content in segments if marker in ASIDE]
    if sum(marker == APP1 for marker, _unused in aside) > 1:
        raise Refused(_(TELLS_PLACE).format(what=_("XMP or more of Exif")))
    for marker, content in aside:
        if marker == APP1 and not content.startswith(EXIF):
            raise Refused(_(TELLS_PLACE).format(what="XMP"))
        if marker == APP1 and any(entry in content for entry in GPS_ENTRIES):
            raise Refused(_(TELLS_PLACE).format(what="GPS"))
        if marker == APP13 and content != NO_CAPTION:
            raise Refused(_(TELLS_PLACE).format(what=_("a caption")))
        if marker == COMMENT:
            raise Refused(_(MORE).format(what=_("a comment")))
        if marker not in (APP0, APP1, APP2, APP13, APP14):
            raise Refused(
                _(MORE).format(what=_("a segment APP{marker}").format(marker=marker - APP0))
            )
        if marker == APP2 and not content.startswith(ICC):
            raise Refused(_(MORE).format(what=_("further pictures")))


def _check_exif(exif: Image.Exif) -> None:
    if {Base.MakerNote, Base.UserComment} & set(exif.get_ifd(IFD.Exif)):
        raise Refused(_(TELLS_PLACE).format(what=_("notes of the camera")))
