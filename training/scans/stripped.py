"""A picture of a paper without what the camera writes beside it: where, when, by which device.

The picture itself stays bit for bit. Which way up it is read stays too.
"""

from io import BytesIO

from PIL import Image
from PIL.ExifTags import Base

from training.jpeg import START_OF_IMAGE, without
from training.scans.kinds import Kind

APP0, APP2, APP14, COMMENT = 0xE0, 0xE2, 0xEE, 0xFE
ICC = b"ICC_PROFILE\0"
# Chunks of a PNG that hold text, times and Exif (PNG specification, third edition, 11.3).
PNG_SIGNATURE = 8  # bytes
PNG_ASIDE = {b"eXIf", b"iTXt", b"tEXt", b"zTXt", b"tIME"}


def without_place(content: bytes, kind: str) -> bytes:
    """Return a whole picture as it is kept; a PDF stays as it is."""
    if kind == Kind.JPEG:
        return _upright(content) + without(content, _aside)[len(START_OF_IMAGE) :]
    return _png(content) if kind == Kind.PNG else content


def _aside(marker: int, segment: bytes) -> bool:
    if marker == APP2:
        return not segment.startswith(ICC)
    return marker == COMMENT or (APP0 < marker <= APP0 + 15 and marker != APP14)


def _upright(content: bytes) -> bytes:
    """Return the beginning of a JPEG, with Exif data only where they say how it is turned."""
    with Image.open(BytesIO(content)) as picture:
        turned = picture.getexif().get(Base.Orientation, 1)
    if turned not in range(2, 9):
        return START_OF_IMAGE
    exif = Image.Exif()
    exif[Base.Orientation] = turned
    segment = exif.tobytes()
    return START_OF_IMAGE + b"\xff\xe1" + (len(segment) + 2).to_bytes(2) + segment


def _png(content: bytes) -> bytes:
    kept, place, name = [content[:PNG_SIGNATURE]], PNG_SIGNATURE, b""
    while name != b"IEND" and place < len(content):
        name = content[place + 4 : place + 8]
        end = place + 12 + int.from_bytes(content[place : place + 4])
        if name not in PNG_ASIDE:
            kept.append(content[place:end])
        place = end
    return b"".join(kept)
