"""Photographs and scans of papers: read, checked by their content, kept without their place."""

from training.scans.held import drop_scan, held_scan, hold_scan
from training.scans.kinds import ENDINGS, Kind
from training.scans.reading import MEGABYTE, Scan, read_scan

__all__ = [
    "ENDINGS",
    "MEGABYTE",
    "Kind",
    "Scan",
    "drop_scan",
    "held_scan",
    "hold_scan",
    "read_scan",
]
