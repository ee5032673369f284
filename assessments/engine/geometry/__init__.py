"""Sums for the task sheet: cuts, pieces, joints, pins, mass, and what a shift does to a body.

Lengths in one call are all in one unit, and the result is in that unit, its square or its cube,
unless a name says otherwise. Numbers are whole numbers or fractions, so sums stay exact; only
what holds a root or π comes back as a float. EngineError at the argument that cannot be.
The cautions are reminders: local codes and licensed practice come first.
"""

from assessments.engine.geometry.cuts import disc_stops_short
from assessments.engine.geometry.exposure import (
    daily_vibration,
    silica_average,
    silica_caution,
    vibration_caution,
    vibration_points,
)
from assessments.engine.geometry.joints import (
    Block,
    bed_mortar,
    joint_mortar,
    lifts,
    piece,
    with_waste,
)
from assessments.engine.geometry.mass import (
    KILOGRAMS_PER_CUBIC_METRE,
    lifting_caution,
    mass_kilograms,
    mass_pounds,
)
from assessments.engine.geometry.pins import annulus_volume, clearance, hole_depth

__all__ = [
    "KILOGRAMS_PER_CUBIC_METRE",
    "Block",
    "annulus_volume",
    "bed_mortar",
    "clearance",
    "daily_vibration",
    "disc_stops_short",
    "hole_depth",
    "joint_mortar",
    "lifting_caution",
    "lifts",
    "mass_kilograms",
    "mass_pounds",
    "piece",
    "silica_average",
    "silica_caution",
    "vibration_caution",
    "vibration_points",
    "with_waste",
]
