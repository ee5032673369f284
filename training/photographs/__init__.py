"""Photographs that people send: read, turned upright, and kept without their place."""

from training.photographs.held import drop_held, held, hold
from training.photographs.reading import (
    LARGEST,
    LONGEST_SIDE,
    MEGABYTE,
    MOST_PIXELS,
    Photograph,
    read_photograph,
)

__all__ = [
    "LARGEST",
    "LONGEST_SIDE",
    "MEGABYTE",
    "MOST_PIXELS",
    "Photograph",
    "drop_held",
    "held",
    "hold",
    "read_photograph",
]
