"""Sums of pins: the hole, and the grout in it."""

from __future__ import annotations

from fractions import Fraction

from assessments.engine.errors import EngineError
from assessments.engine.geometry import annulus_volume, clearance, hole_depth
from assessments.engine.quantities import format_quantity
from assessments.engine.tasksheet.inputs import Inputs
from assessments.engine.tasksheet.model import Found
from assessments.engine.tasksheet.mortar import amounts


def hole(inputs: Inputs) -> Found:
    """How free a rod stands in its hole, and how deep the hole is at least."""
    rod = inputs.length("rod", "Diameter of the rod")
    gap = clearance(rod, inputs.length("hole", "Diameter of the hole"))
    shows = inputs.length("shows", "The pin shows")
    deep = hole_depth(shows, inputs.added("end_gap", "Gap at its end"))
    return Found(
        (
            ("Gap all round the rod", format_quantity(gap, inputs.unit)),
            ("Least depth of the hole", format_quantity(deep, inputs.unit)),
        ),
        "Half of what the hole is wider than the rod; and what the pin shows, with the gap at its "
        "end. In a shallower hole the joint stays open.",
    )


def grout(inputs: Inputs) -> Found:
    """The grout between pins and their holes."""
    rod = inputs.length("rod", "Diameter of the rod")
    wide = inputs.length("hole", "Diameter of the hole")
    if rod == wide:
        raise EngineError("hole", "The hole is as wide as the rod: write one with room for grout.")
    one = annulus_volume(rod, wide, inputs.length("length", "Length in grout"))
    found = Fraction(one) * inputs.count("count", "Holes")
    return Found(
        amounts("Grout", found, inputs),
        "The ring between rod and hole, times the length and the number of holes.",
    )
