"""The pass engine: from a sealed standard and observations to a decision.

Pure Python: no framework, no database, no clock, no randomness. Exact numbers for everything
that decides. FORMATS.md lists the fields of every document.
"""

from assessments.engine import canonical, geometry, numberline, quantities
from assessments.engine.decide import VERSION, decide
from assessments.engine.errors import EngineError
from assessments.engine.judge import judge
from assessments.engine.kinds import CriterionResult
from assessments.engine.quantities import (
    Quantity,
    format_quantity,
    parse_length,
    parse_quantity,
)
from assessments.engine.standard import Criterion, Standard, load_standard, sealing_faults
from assessments.engine.trace import replay

__all__ = [
    "VERSION",
    "Criterion",
    "CriterionResult",
    "EngineError",
    "Quantity",
    "Standard",
    "canonical",
    "decide",
    "format_quantity",
    "geometry",
    "judge",
    "load_standard",
    "numberline",
    "parse_length",
    "parse_quantity",
    "quantities",
    "replay",
    "sealing_faults",
]
