"""The photograph or scan of a paper: taken only when it is what it says it is."""

import warnings
from dataclasses import dataclass
from hashlib import sha256
from io import BytesIO
from math import ceil
from pathlib import PurePath

from django.core.files.uploadedfile import UploadedFile
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_
from PIL import Image, UnidentifiedImageError

from training.errors import Refused
from training.jpeg import parts_of
from training.pictures import only_whole
from training.scans.kinds import ENDINGS, Kind
from training.scans.stripped import without_place

MEGABYTE = 1024 * 1024
MOST_PIXELS = 80_000_000
# The last chunk with its checksum (PNG specification, third edition, 11.2.5).
PNG_END = b"\0\0\0\0IEND\xaeB`\x82"
TAKE_AGAIN = N_("Take the photograph again, or scan the sheet as a PDF.")


@dataclass(frozen=True)
class Scan:
    """The bytes of a photograph or scan as they are kept, and what they are."""

    content: bytes
    kind: str

    @property
    def sha256(self) -> str:
        """The digest of the bytes, in lowercase hex."""
        return sha256(self.content).hexdigest()

    @property
    def ending(self) -> str:
        """How the file's name ends."""
        return next(ending for ending, kind in ENDINGS.items() if kind == self.kind)


def read_scan(file: "UploadedFile[bytes]", *, most: int) -> Scan:
    """Return the scan; raise Refused, at ``file``, where it is none or has over ``most`` bytes.

    The ending of its name says what it is, and the content must be that: an image is decoded
    whole by Pillow; of a PDF the head and the end are looked at (ISO 32000-1, 7.5.2 and 7.5.5).
    What an image says of where and when it was taken is not kept, so the digest is of the rest.
    """
    name, size = file.name or "", file.size or 0
    if size > most:
        raise Refused(
            _(
                "This file has {size} MB: {most} MB at most. "
                "Photograph the sheet with a smaller picture size."
            ).format(size=ceil(size / MEGABYTE), most=most // MEGABYTE),
            field="file",
        )
    kind = ENDINGS.get(PurePath(name).suffix.lower())
    if kind is None:
        raise Refused(
            _(
                "“{name}” is none of the files that are kept here: send a JPEG or PNG image, or "
                "a PDF (a name that ends in .jpg, .jpeg, .png or .pdf)."
            ).format(name=name[:60]),
            field="file",
        )
    content = file.read()
    if kind == Kind.PDF:
        if not content.startswith(b"%PDF-") or b"%%EOF" not in content[-1024:]:
            raise Refused(
                _("This file is no whole PDF, whatever its name says. {take}").format(
                    take=_(TAKE_AGAIN)
                ),
                field="file",
            )
    else:
        _look_at(content, kind)
    return Scan(without_place(content, kind), kind)


def _look_at(content: bytes, kind: Kind) -> None:
    broken = Refused(
        _("This file is no whole {kind} image, whatever its name says. {take}").format(
            kind=kind.name, take=_(TAKE_AGAIN)
        ),
        field="file",
    )
    try:
        with warnings.catch_warnings():
            # Pillow warns of a picture that is large enough to fill the memory; refused below.
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            with Image.open(BytesIO(content), formats=[kind.name]) as picture:
                width, height = picture.size
                if width * height <= MOST_PIXELS:
                    with only_whole():
                        picture.load()
                    _look_at_end(content, kind)
                    return
    except (UnidentifiedImageError, Image.DecompressionBombError, OSError, SyntaxError, ValueError):
        raise broken from None
    raise Refused(
        _(
            "This picture has {width} x {height} points: that is more than a sheet needs. "
            "Photograph it with a smaller picture size."
        ).format(width=width, height=height),
        field="file",
    )


def _look_at_end(content: bytes, kind: Kind) -> None:
    """Raise ValueError where the end is missing: Pillow asks for no more than it draws."""
    if kind == Kind.JPEG:
        parts_of(content)
    elif PNG_END not in content:
        raise ValueError("no IEND chunk")
