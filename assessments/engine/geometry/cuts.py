"""Cutting out by disc."""

from __future__ import annotations

from math import sqrt

from assessments.engine.errors import EngineError
from assessments.engine.geometry.sizes import size
from assessments.engine.numbers import Exact


def disc_stops_short(diameter: Exact, depth: Exact) -> float:
    """How far from an internal corner a disc must stop at the face to be full depth there.

    A disc of diameter D sunk to depth d cuts s = √(d·(D - d)) further at the face than at full
    depth (half a chord of a circle); that much is left to the chisel. A disc reaches half its
    diameter at most, less in fact by the flange. Stone dust: cut wet or with extraction, with
    the mask that the local code asks for.

    >>> round(disc_stops_short(115, 25), 3)
    47.434
    """
    across, deep = size("diameter", diameter), size("depth", depth)
    if deep > across / 2:
        raise EngineError("depth", "A disc cuts at most half its diameter deep: take a larger one.")
    return sqrt(deep * (across - deep))
