"""Sums of mortar: bed and joints of a piece, a run of joint, the layers it is filled in."""

from __future__ import annotations

from fractions import Fraction

from assessments.engine.errors import EngineError
from assessments.engine.geometry import bed_mortar, joint_mortar, lifts, with_waste
from assessments.engine.numbers import Exact, tidy
from assessments.engine.quantities import format_quantity
from assessments.engine.tasksheet.inputs import Inputs
from assessments.engine.tasksheet.model import Found
from assessments.engine.tasksheet.stone import opening
from assessments.engine.tasksheet.words import volume


def around_piece(inputs: Inputs) -> Found:
    """The mortar of bed and joints around a piece."""
    block, joint, back = opening(inputs)
    if joint == 0 and back == 0:
        raise EngineError("joint", "Joint and bed are both 0: write one that mortar fills.")
    found = bed_mortar(block, joint, back)
    return Found(
        amounts("Mortar", found, inputs),
        "What the opening holds, less what the piece fills of it.",
    )


def in_joint(inputs: Inputs) -> Found:
    """The mortar for a run of joint."""
    found = joint_mortar(
        inputs.length("width", "Width of the joint"),
        inputs.length("depth", "Depth of the joint"),
        inputs.length("length", "Length of the run"),
    )
    return Found(amounts("Mortar", found, inputs), "Width × depth × length of the run.")


def layers(inputs: Inputs) -> Found:
    """The layers that fill a joint."""
    depth = inputs.length("depth", "Depth of the joint")
    most = inputs.length("thickness", "Thickest layer")
    count = lifts(depth, most)
    each = tidy(Fraction(depth) / count)
    return Found(
        (("Lifts", str(count)), ("Each, when all are alike", format_quantity(each, inputs.unit))),
        "Depth divided by the thickest layer, rounded up. A lift is thumbprint-hard before the "
        "next one goes on.",
    )


def amounts(what: str, found: Exact, inputs: Inputs) -> tuple[tuple[str, str], ...]:
    """A volume, and with its waste where one is written."""
    shown = [(what, volume(found, inputs.unit))]
    waste = inputs.waste()
    if waste:
        shown.append((f"{what} with waste", volume(with_waste(found, waste), inputs.unit)))
    return tuple(shown)
