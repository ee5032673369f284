"""Packing what a program teaches into the working hours of a run. Pure: no database, no clock."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

SHORTEST = timedelta(minutes=15)  # no shorter piece is cut off a module before a break


@dataclass(frozen=True)
class Piece:
    """A part of the module at ``index``, from ``starts_at`` to ``ends_at`` (aware)."""

    index: int
    starts_at: datetime
    ends_at: datetime


def pack(minutes: Sequence[int], spans: Sequence[tuple[datetime, datetime]]) -> list[Piece]:
    """Return pieces that teach modules of ``minutes`` in their order within ``spans``.

    ``spans`` are (from, to), in order and apart. A module goes on after a break. Raises
    ValueError with the number of minutes (its only argument) that found no room.
    """
    pieces: list[Piece] = []
    left = [timedelta(minutes=each) for each in minutes]
    index = 0
    for start, end in spans:
        at = start
        while index < len(left) and at < end:
            length = min(left[index], end - at)
            if length < min(SHORTEST, left[index]):
                break
            pieces.append(Piece(index, at, at + length))
            at += length
            left[index] -= length
            if not left[index]:
                index += 1
    missing = sum(left, timedelta())
    if missing:
        raise ValueError(int(missing.total_seconds()) // 60)
    return pieces
