"""What a scan may be, and how the names of such files end."""

from enum import StrEnum


class Kind(StrEnum):
    """A kind of file, by its media type (RFC 2046; RFC 8118 for PDF)."""

    JPEG = "image/jpeg"
    PNG = "image/png"
    PDF = "application/pdf"


ENDINGS = {".jpg": Kind.JPEG, ".jpeg": Kind.JPEG, ".png": Kind.PNG, ".pdf": Kind.PDF}
