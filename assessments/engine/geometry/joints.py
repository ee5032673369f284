"""The piece for an opening, and the mortar around it."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import ceil

from assessments.engine.errors import EngineError
from assessments.engine.geometry.sizes import size
from assessments.engine.numbers import Exact


@dataclass(frozen=True, slots=True)
class Block:
    """Width, height and depth (from the face inwards), in one unit of length."""

    width: Exact
    height: Exact
    depth: Exact

    @property
    def volume(self) -> Exact:
        """Width times height times depth."""
        return self.width * self.height * self.depth


def piece(opening: Block, joint: Exact, back: Exact, proud: Exact = 0) -> Block:
    """The piece that fills an opening with a joint all round and a bed at the back.

    Each side gives up two joints; the depth gives up the bed and gains what stands proud of the
    face, to be dressed back.

    >>> piece(Block(150, 100, 75), joint=3, back=5, proud=2)
    Block(width=Fraction(144, 1), height=Fraction(94, 1), depth=Fraction(72, 1))
    """
    around, bed = size("joint", joint, zero=True), size("back", back, zero=True)
    found = Block(
        size("opening.width", opening.width) - 2 * around,
        size("opening.height", opening.height) - 2 * around,
        size("opening.depth", opening.depth) - bed + size("proud", proud, zero=True),
    )
    if min(found.width, found.height) <= 0:
        raise EngineError("joint", "The joints leave nothing of the piece: write thinner ones.")
    if opening.depth <= bed:
        raise EngineError("back", "The bed fills the opening: write a thinner one.")
    return found


def bed_mortar(opening: Block, joint: Exact, back: Exact) -> Exact:
    """The volume of bed and joints around the piece, in the cube of the unit.

    >>> bed_mortar(Block(150, 100, 75), joint=3, back=5)
    Fraction(177480, 1)
    """
    return opening.volume - piece(opening, joint, back).volume


def joint_mortar(width: Exact, depth: Exact, length: Exact) -> Fraction:
    """The volume of mortar in a run of joint raked out to a depth.

    10 mm wide, 25 mm deep, 12 m long: 3 L.

    >>> joint_mortar(10, 25, 12_000)
    Fraction(3000000, 1)
    """
    return size("width", width) * size("depth", depth) * size("length", length)


def with_waste(volume: Exact, waste: Exact) -> Fraction:
    """A volume with a share for waste: 0.15 adds 15 %.

    >>> with_waste(3, Fraction(15, 100))
    Fraction(69, 20)
    """
    return size("volume", volume) * (1 + size("waste", waste, zero=True))


def lifts(depth: Exact, thickness: Exact) -> int:
    """How many layers of at most ``thickness`` fill a joint of ``depth``.

    >>> lifts(25, 6), lifts(1, Fraction(1, 4))
    (5, 4)
    """
    return ceil(size("depth", depth) / size("thickness", thickness))
