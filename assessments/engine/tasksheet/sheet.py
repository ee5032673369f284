"""The sums that there are, and the sheet that they make."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from assessments.engine.errors import EngineError
from assessments.engine.fields import at, choice, fields, text
from assessments.engine.formula import Amount
from assessments.engine.standard.load import load_dimensions
from assessments.engine.tasksheet import mortar, pins, shift, stone
from assessments.engine.tasksheet.inputs import Inputs
from assessments.engine.tasksheet.model import Found, SheetSum

_Row = tuple[str, Callable[[Inputs], Found], tuple[str, ...], tuple[str, ...]]
_OPENING = ("unit", "width", "height", "depth", "joint", "back")
_TABLE: dict[str, _Row] = {
    "disc_reach": ("Reach of the disc", stone.disc_reach, ("unit", "disc", "depth"), ()),
    "piece": ("Size of the piece", stone.piece_size, _OPENING, ("proud",)),
    "bed_mortar": ("Mortar for bed and joints", mortar.around_piece, _OPENING, ("waste",)),
    "joint_mortar": (
        "Mortar for the joints",
        mortar.in_joint,
        ("unit", "width", "depth", "length"),
        ("waste",),
    ),
    "lifts": ("Lifts of mortar", mortar.layers, ("unit", "depth", "thickness"), ()),
    "pin_hole": ("Hole for a pin", pins.hole, ("unit", "rod", "hole", "shows"), ("end_gap",)),
    "pin_grout": (
        "Grout for the pins",
        pins.grout,
        ("unit", "rod", "hole", "length", "count"),
        ("waste",),
    ),
    "mass": (
        "Mass of the piece",
        stone.mass,
        (
            "unit", "width", "height", "depth", "density", "density_unit", "density_source",
            "guide",
        ),
        ("most", "most_source"),
    ),
    "vibration": ("Vibration of hand and arm", shift.vibration, ("tools", "source"), ()),
    "silica": ("Silica dust over the shift", shift.silica, ("work", "source"), ()),
}  # fmt: skip
SUMS = tuple(_TABLE)
# Where a sum calls an argument of engine.geometry something else.
_FIELDS = {("vibration", "spells"): "tools", ("silica", "spells"): "work"}


def task_sheet(sums: list[dict[str, Any]], dimensions: dict[str, Any]) -> list[SheetSum]:
    """Work out the sums of a task over its ``dimensions`` {name: {value, unit}}, in order.

    Raises EngineError at the field that is at fault, such as ``sheet[2].hole``, or
    ``dimensions.joint``.

    >>> [found] = task_sheet(
    ...     [{"sum": "lifts", "unit": "mm", "depth": "rake", "thickness": "6"}],
    ...     {"rake": {"value": "25", "unit": "mm"}},
    ... )
    >>> found.inputs[0], found.results[0]
    (('Depth of the joint', '25 mm (rake)'), ('Lifts', '5'))
    """
    known = load_dimensions(dimensions)
    if not isinstance(sums, list):
        raise EngineError("sheet", "Write a list of sums here: […].")
    found = []
    for i, document in enumerate(sums):
        with at(f"sheet[{i}]"):
            found.append(sheet_sum(document, known))
    return found


def sheet_sum(document: object, dimensions: Mapping[str, Amount]) -> SheetSum:
    """Work out one sum; EngineError at its field."""
    if not isinstance(document, dict) or "sum" not in document:
        raise EngineError("sum", f"Write which sum this is, one of: {', '.join(SUMS)}.")
    kind = choice(document, "sum", SUMS)
    title, work_out, required, optional = _TABLE[kind]
    fields(document, ("sum", *required), ("title", "note", *optional))
    inputs = Inputs(document, dimensions)
    try:
        found = work_out(inputs)
    except EngineError as error:
        path = _FIELDS.get((kind, error.path), error.path)
        raise EngineError(path, error.message, error.column) from None
    note = text(document, "note") if document.get("note") else ""
    return SheetSum(
        sum=kind,
        title=text(document, "title") if document.get("title") else title,
        inputs=tuple(inputs.shown),
        results=found.results,
        working=f"{found.working} {note}".rstrip(),
        cautions=found.cautions,
    )
