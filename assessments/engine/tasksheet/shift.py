"""Sums of a shift: vibration of hand and arm, and silica dust."""

from __future__ import annotations

from fractions import Fraction

from assessments.engine.geometry import (
    daily_vibration,
    silica_average,
    silica_caution,
    vibration_caution,
    vibration_points,
)
from assessments.engine.numbers import tidy
from assessments.engine.tasksheet.inputs import Inputs
from assessments.engine.tasksheet.model import Found
from assessments.engine.tasksheet.words import caution, rounded

VIBRATION = "HSE guidance L140 to the Control of Vibration at Work Regulations 2005"
FIRST = "The employer's own plan and local codes come first."
SILICA = "29 CFR 1926.1153 (respirable crystalline silica in construction)"


def vibration(inputs: Inputs) -> Found:
    """Exposure points of the day, and the steady vibration that makes as many."""
    tools = list(inputs.spells("tools", "tool", "m_s2", "m/s²"))
    inputs.source("source", "Source of the figures")
    points = vibration_points((each.level, each.minutes) for each in tools)
    alone = [(each.what, vibration_points([(each.level, each.minutes)])) for each in tools]
    said = vibration_caution(points)
    return Found(
        (
            *((what, rounded(tidy(each), "points")) for what, each in alone if len(alone) > 1),
            ("Points of the day", rounded(tidy(points), "points")),
            ("A(8), spread over 8 hours", rounded(Fraction(daily_vibration(points)), "m/s²")),
        ),
        "For each tool twice the square of its vibration, times the hours of trigger time, added "
        "up. From 100 points on the employer has to act; 400 is the limit of a day. "
        f"Source: {VIBRATION}. {FIRST}",
        (caution(said, VIBRATION),) if said else (),
    )


def silica(inputs: Inputs) -> Found:
    """The 8-hour average of silica in the air."""
    work = list(inputs.spells("work", "work", "ug_m3", "µg/m³"))
    inputs.source("source", "Source of the figures")
    average = silica_average((each.level, each.minutes) for each in work)
    said = silica_caution(average)
    return Found(
        (("Average over 8 hours", rounded(tidy(average), "µg/m³")),),
        "Dust times minutes for each piece of work, added up and divided by 480 minutes; the rest "
        "of the day counts as clean. Action level 25 µg/m³, limit 50 µg/m³. "
        f"Source: {SILICA}. {FIRST}",
        (caution(said, SILICA),) if said else (),
    )
