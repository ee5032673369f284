"""Calibrating assessors: reference pieces, scoring them, and the authority that follows."""

from assessments.actions.calibration.authority import (
    authorise,
    set_requirement,
    withdraw_authority,
)
from assessments.actions.calibration.pieces import (
    add_reference_piece,
    change_reference_piece,
    retire_reference_piece,
)
from assessments.actions.calibration.sittings import (
    finish_sitting,
    score_reference,
    start_sitting,
)

__all__ = [
    "add_reference_piece",
    "authorise",
    "change_reference_piece",
    "finish_sitting",
    "retire_reference_piece",
    "score_reference",
    "set_requirement",
    "start_sitting",
    "withdraw_authority",
]
