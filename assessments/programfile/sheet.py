"""The sums of the task sheet, as a program file writes them."""

from collections.abc import Mapping

from assessments.engine.tasksheet import SUMS
from assessments.programfile.chosen import chosen
from assessments.programfile.compound import Field, ListOf, Record
from assessments.programfile.shapes import Choice, Dimension, Measure, Text, Whole
from assessments.programfile.values import LONG, NUMBER, SENTENCE, SHARE

UNIT = Field(Choice(("in", "mm")))
LENGTH = Field(Measure(formula=True))
MAY_LENGTH = Field(Measure(formula=True), required=False)
WASTE = Field(SHARE, required=False)
MINUTES = Field(Whole(1, 1440))
SIZES = {"unit": UNIT, "width": LENGTH, "height": LENGTH, "depth": LENGTH}
OPENING = {**SIZES, "joint": LENGTH, "back": LENGTH}
TOOL = Record({"tool": Field(Text(100)), "m_s2": Field(NUMBER), "minutes": MINUTES}, "a tool")
WORK = Record({"work": Field(Text(100)), "ug_m3": Field(NUMBER), "minutes": MINUTES}, "a work")

KINDS: Mapping[str, Mapping[str, Field]] = {
    "disc_reach": {"unit": UNIT, "disc": LENGTH, "depth": LENGTH},
    "piece": {**OPENING, "proud": MAY_LENGTH},
    "bed_mortar": {**OPENING, "waste": WASTE},
    "joint_mortar": {
        "unit": UNIT,
        "width": LENGTH,
        "depth": LENGTH,
        "length": LENGTH,
        "waste": WASTE,
    },
    "lifts": {"unit": UNIT, "depth": LENGTH, "thickness": LENGTH},
    "pin_hole": {
        "unit": UNIT,
        "rod": LENGTH,
        "hole": LENGTH,
        "shows": LENGTH,
        "end_gap": MAY_LENGTH,
    },
    "pin_grout": {
        "unit": UNIT,
        "rod": LENGTH,
        "hole": LENGTH,
        "length": LENGTH,
        "count": Field(Whole(1, 1000)),
        "waste": WASTE,
    },
    "mass": {
        **SIZES,
        "density": Field(NUMBER),
        "density_unit": Field(Choice(("lb/ft3", "kg/m3"))),
        "density_source": Field(SENTENCE),
        "guide": Field(Choice(("niosh", "hse"))),
        "most": Field(Dimension(("lb", "kg"), "a weight such as 30 lb or 14 kg"), required=False),
        "most_source": Field(SENTENCE, required=False),
    },
    "vibration": {"tools": Field(ListOf(TOOL, least=1, most=20)), "source": Field(SENTENCE)},
    "silica": {"work": Field(ListOf(WORK, least=1, most=20)), "source": Field(SENTENCE)},
}
SHEET = chosen(
    "sum",
    {"sum": Field(Choice(SUMS)), "title": Field(Text(200), required=False, default="")},
    KINDS,
    "sum",
    last={"note": Field(LONG, required=False, default="")},
)
