"""The segments of a JPEG file, and where its picture ends (ITU-T T.81, annex B).

A decoder reads past what it does not need; this tells what is there, without decoding.
"""

from collections.abc import Callable
from dataclasses import dataclass

SOI, EOI, START_OF_SCAN, FILL, TEMPORARY = 0xD8, 0xD9, 0xDA, 0xFF, 0x01
START_OF_IMAGE = b"\xff\xd8"
RESTARTS = range(0xD0, 0xD8)
# Start of frame: C0 to CF without the tables DHT and DAC and the reserved JPG.
FRAMES = frozenset(range(0xC0, 0xD0)) - {0xC4, 0xC8, 0xCC}
ALONE = {SOI, EOI, TEMPORARY, *RESTARTS}


class NotWholeError(ValueError):
    """The bytes do not hold one whole picture."""


@dataclass(frozen=True)
class Parts:
    """What a file holds: size in pixels, segments as (marker, content), where the picture ends."""

    width: int
    height: int
    segments: list[tuple[int, bytes]]
    end: int


def parts_of(data: bytes) -> Parts:
    """Return the parts of a file that begins as a JPEG; raise NotWholeError where it breaks off."""
    segments: list[tuple[int, bytes]] = []
    place = 2
    while (marker := _marker(data, place)) != EOI:
        if marker == FILL:
            place += 1
            continue
        length = int.from_bytes(data[place + 2 : place + 4])
        content = data[place + 4 : place + 2 + length]
        if marker in ALONE or len(content) != length - 2:
            raise NotWholeError
        segments.append((marker, content))
        place += 2 + length
        if marker == START_OF_SCAN:
            place = _end_of_scan(data, place)
    frames = [content for marker, content in segments if marker in FRAMES]
    if len(frames) != 1 or len(frames[0]) < 6:
        raise NotWholeError
    height, width = int.from_bytes(frames[0][1:3]), int.from_bytes(frames[0][3:5])
    return Parts(width, height, segments, place + 2)


def without(data: bytes, aside: Callable[[int, bytes], bool]) -> bytes:
    """Return a whole file up to the end of its picture, less the segments that ``aside`` picks.

    ``aside`` is asked with (marker, content). Raises NotWholeError as ``parts_of`` does.
    """
    kept, place = [data[:2]], 2
    while (marker := _marker(data, place)) != EOI:
        if marker == FILL:
            place += 1
            continue
        content = place + 2 + int.from_bytes(data[place + 2 : place + 4])
        end = _end_of_scan(data, content) if marker == START_OF_SCAN else content
        if not aside(marker, data[place + 4 : content]):
            kept.append(data[place:end])
        place = end
    return b"".join([*kept, data[place : place + 2]])


def _marker(data: bytes, place: int) -> int:
    if place + 2 > len(data) or data[place] != 0xFF:
        raise NotWholeError
    return data[place + 1]


def _end_of_scan(data: bytes, place: int) -> int:
    """Return where the next marker stands that is neither a stuffed byte nor a restart."""
    while (place := data.find(b"\xff", place)) != -1 and place + 1 < len(data):
        if data[place + 1] != 0x00 and data[place + 1] not in RESTARTS:
            return place
        place += 2
    raise NotWholeError
