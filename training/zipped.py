"""ZIP archives (APPNOTE 6.3) that are made while they are sent."""

import zipfile
from dataclasses import dataclass, field


@dataclass
class Sink:
    """What a ZipFile writes to: bytes wait here until they are sent."""

    waiting: bytearray = field(default_factory=bytearray)

    def write(self, data: bytes) -> int:
        """Take bytes of the archive."""
        self.waiting += data
        return len(data)

    def flush(self) -> None:
        """Nothing waits anywhere else."""

    def taken(self) -> bytes:
        """Return what waits, which then waits no longer."""
        data = bytes(self.waiting)
        self.waiting.clear()
        return data


def packing(sink: Sink) -> zipfile.ZipFile:
    """Return an archive that is written to ``sink``; closing it writes its end."""
    return zipfile.ZipFile(sink, "w", zipfile.ZIP_DEFLATED)  # type: ignore[call-overload, no-any-return]
