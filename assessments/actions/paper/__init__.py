"""Keying in what was scored on paper."""

from assessments.actions.paper.files import LARGEST, Scan, read_scan
from assessments.actions.paper.held import drop_scan, held_scan, hold_scan
from assessments.actions.paper.keying import key_in

__all__ = ["LARGEST", "Scan", "drop_scan", "held_scan", "hold_scan", "key_in", "read_scan"]
