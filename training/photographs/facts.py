"""When a camera says that a picture was taken (Exif 2.32, 4.6.5 and 4.6.6)."""

import struct
from datetime import datetime

from PIL import Image
from PIL.ExifTags import IFD, Base

FORM = "%Y:%m:%d %H:%M:%S"
Taken = datetime | None


def taken_of(picture: Image.Image) -> Taken:
    """Return the moment: naive as the camera's clock shows it, aware where it wrote its offset.

    None where nothing is told, or nothing that can be read.
    """
    try:
        told = picture.getexif().get_ifd(IFD.Exif)
        moment = datetime.strptime(_text(told.get(Base.DateTimeOriginal)), FORM)  # noqa: DTZ007
    except (OSError, SyntaxError, ValueError, KeyError, TypeError, struct.error):
        return None
    try:
        return datetime.strptime(
            f"{moment:{FORM}} {_text(told.get(Base.OffsetTimeOriginal))}", f"{FORM} %z"
        )
    except ValueError:
        return moment


def _text(value: object) -> str:
    return value.strip("\0 ") if isinstance(value, str) else ""
