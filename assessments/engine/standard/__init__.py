"""The passing standard: its parts, reading it, and what keeps it from being sealed."""

from assessments.engine.standard.load import load_criterion, load_dimensions, load_standard
from assessments.engine.standard.model import Criterion, Outcome, PassRule, Stage, Standard
from assessments.engine.standard.sealing import sealing_faults

__all__ = [
    "Criterion",
    "Outcome",
    "PassRule",
    "Stage",
    "Standard",
    "load_criterion",
    "load_dimensions",
    "load_standard",
    "sealing_faults",
]
