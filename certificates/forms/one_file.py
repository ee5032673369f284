"""Taking one file from a stranger: never more of it than a record can have, never on the disk."""

from io import BytesIO
from typing import Any

from django.core.files.uploadedfile import InMemoryUploadedFile
from django.core.files.uploadhandler import FileUploadHandler, SkipFile
from django.http import HttpRequest

from certificates.signing.verify import MAX_BYTES


class OneFile(FileUploadHandler):
    """Keeps the first file in memory, up to one byte more than a record may have.

    The rest of it, and every further file, is read and dropped: so who sends a large file is
    told so in a sentence, rather than cut off.
    """

    chunk_size = 64 * 1024

    def __init__(self, request: HttpRequest) -> None:
        super().__init__(request)
        self.kept: BytesIO | None = None

    def new_file(self, *args: Any, **kwargs: Any) -> None:
        """Take the first file only."""
        super().new_file(*args, **kwargs)
        if self.kept is not None:
            raise SkipFile
        self.kept = BytesIO()

    def receive_data_chunk(self, raw_data: bytes, start: int) -> bytes | None:
        """Keep what a record could have."""
        assert self.kept is not None
        room = MAX_BYTES + 1 - self.kept.tell()
        self.kept.write(raw_data[: max(room, 0)])
        return None

    def file_complete(self, file_size: int) -> InMemoryUploadedFile | None:
        """Hand over what was kept."""
        assert self.kept is not None
        size = self.kept.tell()
        self.kept.seek(0)
        return InMemoryUploadedFile(
            self.kept,
            self.field_name,
            str(self.file_name or ""),
            str(self.content_type or ""),
            size,
            self.charset,
            self.content_type_extra,
        )
