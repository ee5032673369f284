"""Sums of cutting and moving stone: the disc's reach, the piece, its mass."""

from __future__ import annotations

from fractions import Fraction
from typing import Literal, cast

from assessments.engine.errors import EngineError
from assessments.engine.fields import at, choice, fields, number
from assessments.engine.geometry import (
    Block,
    disc_stops_short,
    lifting_caution,
    mass_kilograms,
    mass_pounds,
    piece,
)
from assessments.engine.numbers import Exact, tidy
from assessments.engine.quantities import format_quantity
from assessments.engine.tasksheet.inputs import Inputs
from assessments.engine.tasksheet.model import Found
from assessments.engine.tasksheet.words import caution, root, rounded
from assessments.engine.units import UNITS

DENSITIES = {"lb/ft3": "lb/ft³", "kg/m3": "kg/m³"}
GUIDES = {
    "niosh": "Revised NIOSH lifting equation (NIOSH 94-110)",
    "hse": "HSE guidance L23 on manual handling",
}


def disc_reach(inputs: Inputs) -> Found:
    """How far short of an internal corner the disc stops."""
    disc = inputs.length("disc", "Diameter of the disc")
    depth = inputs.length("depth", "Depth of the cut")
    short = disc_stops_short(disc, depth)
    return Found(
        (("Stop short of the corner, at the face, by", root(short, inputs.unit)),),
        "A disc is round: where it is at full depth at the corner, it has cut further at the face "
        "by the root of depth × (diameter - depth). Stop there and take the rest with the chisel; "
        "the flange takes away from the depth that a disc reaches.",
        (
            caution(
                "A disc raises silica dust: cut wet or with extraction at the tool, and wear the "
                "respirator that the site's plan names. Keep the guard on.",
                "29 CFR 1926.1153 (respirable crystalline silica in construction)",
            ),
        ),
    )


def opening(inputs: Inputs) -> tuple[Block, Exact, Exact]:
    """The opening with its joint and its bed at the back."""
    block = Block(
        inputs.length("width", "Width of the opening"),
        inputs.length("height", "Height of the opening"),
        inputs.length("depth", "Depth of the opening"),
    )
    joint = inputs.length("joint", "Joint all round", zero=True)
    return block, joint, inputs.length("back", "Bed at the back", zero=True)


def piece_size(inputs: Inputs) -> Found:
    """The piece that goes into an opening."""
    block, joint, back = opening(inputs)
    proud = inputs.added("proud", "Left proud of the face")
    found = piece(block, joint, back, proud)
    return Found(
        tuple(
            (label, format_quantity(value, inputs.unit))
            for label, value in (
                ("Width", found.width),
                ("Height", found.height),
                ("Thickness", found.depth),
            )
        ),
        "The opening less a joint on either side; the depth less the bed at the back, and with "
        "what is left proud of the face to be dressed back.",
    )


def mass(inputs: Inputs) -> Found:
    """The mass of a piece, with a caution where one person should not lift it."""
    volume = Fraction(
        Block(
            inputs.length("width", "Width of the piece"),
            inputs.length("height", "Height of the piece"),
            inputs.length("depth", "Thickness of the piece"),
        ).volume
    )
    density = number(inputs.document, "density", above=0)
    of = choice(inputs.document, "density_unit", DENSITIES)
    inputs.shown.append(("Density", rounded(density, DENSITIES[of])))
    inputs.source("density_source", "Source of the density")
    guide = cast(Literal["niosh", "hse"], choice(inputs.document, "guide", GUIDES))
    inputs.shown.append(("Guide to lifting", GUIDES[guide]))
    cube = UNITS[f"{inputs.unit}3"].factor
    unit: Literal["lb", "kg"]
    if of == "lb/ft3":
        unit, found = "lb", mass_pounds(volume * cube / UNITS["in3"].factor, density)
    else:
        unit, found = "kg", mass_kilograms(volume * cube / UNITS["mm3"].factor, density)
    cautions = [_own_limit(inputs, found * UNITS[unit].factor)]
    above = lifting_caution(found, unit, guide)
    cautions.append(None if above is None else caution(above, GUIDES[guide]))
    return Found(
        (("Mass", rounded(tidy(found), unit)),),
        "Width × height × thickness, times the density. Wet stone and metal in it weigh more.",
        tuple(each for each in cautions if each),
    )


def _own_limit(inputs: Inputs, micrograms: Fraction) -> tuple[str, str] | None:
    """The project's own figure for one person, where it sets one and the piece is above it."""
    if not inputs.has("most"):
        if inputs.document.get("most_source"):
            raise EngineError("most", "A source is written without its figure: write the figure.")
        return None
    with at("most"):
        row = fields(inputs.document["most"], ("value", "unit"))
        value, unit = number(row, "value", above=0), choice(row, "unit", ("lb", "kg"))
    if not inputs.document.get("most_source"):
        raise EngineError("most_source", "Write who set the most that one person lifts, or where.")
    inputs.shown.append(("Most that one person lifts", rounded(value, unit)))
    source = inputs.source("most_source", "Source of that most")
    if micrograms <= value * UNITS[unit].factor:
        return None
    return caution(
        f"Do not lift this alone: it is above the {rounded(value, unit)} that this project allows "
        "one person. Use a hoist or more hands.",
        source,
    )
