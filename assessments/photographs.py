"""Whether bytes are a photograph to keep: a whole JPEG, not too large, that tells no place."""

import hashlib
import io
import struct
from collections.abc import Iterable

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
NOT_JPEG = "This is not a JPEG photograph. Take it again on the scoring page, which sends JPEG."
BROKEN = "The photograph is cut short or damaged. Send it again from the device that took it."
TELLS_PLACE = (
    "The photograph holds, or may hold, where it was taken ({what}). The device strips this "
    "before it stores a photograph; take it again on the scoring page."
)
MORE = "The file holds more than a photograph ({what}). Take it again on the scoring page."


def check_photograph(data: bytes) -> tuple[int, int]:
    """Return (width, height) in pixels, or raise Refused with a sentence that says what to do."""
    if len(data) > LARGEST_BYTES:
        raise Refused(
            f"The photograph has {len(data)} bytes: at most {LARGEST_BYTES} (400 kB) are taken. "
            "The scoring page makes it smaller before it is stored."
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
        raise Refused(MORE.format(what=f"{len(data) - parts.end} bytes after its end"))
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
            f"The photograph claims {width} × {height} pixels: at most {LONGEST_SIDE} on the long "
            f"side and {MOST_PIXELS // 1_000_000} million in all are taken."
        )
    if min(width, height) < SMALLEST_SIDE:
        raise Refused(f"The photograph has {width} × {height} pixels: nothing can be seen on it.")


def _check_segments(segments: Iterable[tuple[int, bytes]]) -> None:
    aside = [(marker, content) for marker, content in segments if marker in ASIDE]
    if sum(marker == APP1 for marker, _ in aside) > 1:
        raise Refused(TELLS_PLACE.format(what="XMP or more of Exif"))
    for marker, content in aside:
        if marker == APP1 and not content.startswith(EXIF):
            raise Refused(TELLS_PLACE.format(what="XMP"))
        if marker == APP1 and any(entry in content for entry in GPS_ENTRIES):
            raise Refused(TELLS_PLACE.format(what="GPS"))
        if marker == APP13 and content != NO_CAPTION:
            raise Refused(TELLS_PLACE.format(what="a caption"))
        if marker == COMMENT:
            raise Refused(MORE.format(what="a comment"))
        if marker not in (APP0, APP1, APP2, APP13, APP14):
            raise Refused(MORE.format(what=f"a segment APP{marker - APP0}"))
        if marker == APP2 and not content.startswith(ICC):
            raise Refused(MORE.format(what="further pictures"))


def _check_exif(exif: Image.Exif) -> None:
    if {Base.MakerNote, Base.UserComment} & set(exif.get_ifd(IFD.Exif)):
        raise Refused(TELLS_PLACE.format(what="notes of the camera"))
