"""An upload that is too large is let go while it comes in: it never fills the disk."""

from typing import Any

from django.core.files.uploadhandler import FileUploadHandler, StopUpload
from django.http import HttpRequest


class AtMost(FileUploadHandler):
    """Stops once the files of a request hold more than ``limit`` bytes; ``exceeded`` says so.

    Put it before the other handlers, and before anything reads the form.
    """

    def __init__(self, request: HttpRequest, limit: int) -> None:
        super().__init__(request)
        self.limit = limit
        self.exceeded = False
        self._received = 0

    def receive_data_chunk(self, raw_data: bytes, start: int) -> bytes:
        """Count the chunk and pass it on."""
        self._received += len(raw_data)
        if self._received > self.limit:
            self.exceeded = True
            # The rest is read and dropped, so that the browser gets to see the answer.
            raise StopUpload(connection_reset=False)
        return raw_data

    def file_complete(self, file_size: int) -> Any:
        """Leave the file to the handlers after this one."""
        return None
