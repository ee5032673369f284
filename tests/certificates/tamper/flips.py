"""Single bits turned over."""

import random

from tests.certificates.tamper.subject import container_of, gap_of


def flipped(pdf: bytes, place: int) -> bytes:
    """The file with one bit turned over; ``place`` counts bits from the start."""
    changed = bytearray(pdf)
    changed[place // 8] ^= 1 << (place % 8)
    return bytes(changed)


def places_in_signed_range(pdf: bytes, number: int, seed: int) -> list[int]:
    """Different bits of what is hashed, drawn at random with this seed."""
    gap = gap_of(pdf)
    before, inside = 8 * gap.start, 8 * len(gap)
    drawn = random.Random(seed).sample(range(8 * len(pdf) - inside), number)
    return [place if place < before else place + inside for place in drawn]


def places_in_container(pdf: bytes) -> list[int]:
    """One bit of every hex digit of the container: its lowest, so that it stays a character."""
    start = gap_of(pdf).start + 1
    return [8 * place for place in range(start, start + 2 * len(container_of(pdf)))]


def places_in_room(pdf: bytes) -> list[int]:
    """One bit of every character of the room that the container leaves."""
    gap = gap_of(pdf)
    return [8 * place for place in range(gap.start + 1 + 2 * len(container_of(pdf)), gap.stop)]
