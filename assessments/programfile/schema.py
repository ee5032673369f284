"""What a program file holds: the one table that reading, writing and the document rest on."""

import re
from collections.abc import Mapping

from assessments.engine.kinds import KINDS as KIND_NAMES
from assessments.engine.kinds.measured import STATISTICS
from assessments.engine.units import QUANTITIES, UNITS
from assessments.programfile.chosen import chosen
from assessments.programfile.compound import Field, ListOf, MapOf, Record
from assessments.programfile.qualification import QUALIFICATION
from assessments.programfile.second_look import RETAKE, REVIEW
from assessments.programfile.shapes import (
    Choice,
    DecisionRule,
    Dimension,
    Exact,
    Measure,
    Shape,
    Text,
    Whole,
    Word,
    YesNo,
)
from assessments.programfile.sheet import SHEET
from assessments.programfile.values import CODE, KEY, LONG, MINUTES, NUMBER, SENTENCE, SHARE

FORMAT = "bankermark program 1"
PROGRAM_UNITS = ("in", "mm")
MEASURED_UNITS = tuple(name for name in UNITS if name != "1")


def _whole(text: str) -> str:
    """Return a count of things as stored; raise ValueError with a sentence."""
    if not re.fullmatch(r"[0-9]{1,9}", text.strip()):
        raise ValueError("write a whole number, 0 or more")
    return str(int(text))


COUNT = Exact("a whole number, 0 or more", _whole, str)


def limits(shape: Shape) -> Record:
    """Return the record of a lower and an upper limit, either of which may be left out."""
    end = Field(shape, required=False)
    return Record({"lower": end, "upper": end}, "the limits")


CRITERION: Mapping[str, Field] = {
    "key": Field(KEY),
    "title": Field(Text(200)),
    "stage": Field(KEY),
    "kind": Field(Choice(KIND_NAMES)),
    "critical": Field(YesNo(), required=False, default=False),
    "not_applicable": Field(YesNo(), required=False, default=False),
    "weight": Field(NUMBER, required=False, default="1"),
    "serves": Field(MapOf(KEY, NUMBER, least=1, flow=True)),
    "guidance": Field(LONG, required=False, default=""),
}
LEVEL = Record({"points": Field(NUMBER), "description": Field(SENTENCE)}, "a level")
INSTRUMENT = Record(
    {
        "name": Field(Text(200)),
        "maximum_permissible_error": Field(Measure()),
        "resolution": Field(Measure()),
        "ends": Field(Whole(1, 10)),
    },
    "the instrument",
)
KINDS: Mapping[str, Mapping[str, Field]] = {
    "rated": {
        "levels": Field(ListOf(LEVEL, least=2, most=10)),
        "met_from": Field(Whole(1, 9)),
    },
    "measured": {
        "quantity": Field(Choice(tuple(QUANTITIES)), required=False, default="length"),
        "unit": Field(Choice(MEASURED_UNITS)),
        "readings": Field(Whole(1, 50)),
        "statistic": Field(Choice(tuple(STATISTICS))),
        "limits": Field(limits(Measure(formula=True))),
        "limits_source": Field(SENTENCE),
        "instrument": Field(INSTRUMENT, required=False),
        "decision_rule": Field(DecisionRule()),
        "coverage_factor": Field(NUMBER, required=False, default="2"),
        "minimum_ratio": Field(NUMBER, required=False),
    },
    "checked": {"expected": Field(YesNo())},
    "counted": {"what": Field(Text(100)), "limits": Field(limits(COUNT))},
    "timed": {"limits": Field(limits(MINUTES))},
}


CRITERIA = chosen("kind", CRITERION, KINDS, "criterion")
MODULE = Record(
    {
        "key": Field(KEY),
        "title": Field(Text(200)),
        "kind": Field(Choice(("lecture", "demonstration", "supervised practice"))),
        "minutes": Field(Whole(1, 10_000)),
        "teaches": Field(ListOf(KEY, flow=True), required=False, default=[]),
        "content": Field(LONG, required=False, default=""),
    },
    "a module",
)
# A paper of the kind 'instructor' is what an instructor is qualified by.
PREREQUISITE_KEY = Word(
    "(?!instructor$)" + KEY.pattern, f"{KEY.hint}; 'instructor' is kept for who teaches"
)
PREREQUISITE = Record(
    {
        "key": Field(PREREQUISITE_KEY),
        "title": Field(Text(200)),
        "for": Field(Choice(("course", "practical"))),
        "accepts": Field(LONG),
        "source": Field(SENTENCE),
    },
    "a prerequisite",
)
OUTCOME = Record(
    {
        "key": Field(KEY),
        "statement": Field(SENTENCE),
        "minimum": Field(SHARE, required=False),
    },
    "an outcome",
)
STAGE = Record(
    {
        "key": Field(KEY),
        "title": Field(Text(200)),
        "hold_point": Field(YesNo(), required=False, default=False),
    },
    "a stage",
)
CAUTION = Record(
    {"hazard": Field(Text(100)), "text": Field(LONG), "source": Field(SENTENCE)}, "a caution"
)
CONDITION = Record({"name": Field(Text(100)), "value": Field(Text(200))}, "a condition")
TASK = Record(
    {
        "title": Field(Text(200)),
        "brief": Field(LONG, required=False, default=""),
        "cautions": Field(ListOf(CAUTION), required=False, default=[]),
        "conditions": Field(ListOf(CONDITION), required=False, default=[]),
        "dimensions": Field(
            MapOf(KEY, Dimension(MEASURED_UNITS), in_order=True), required=False, default={}
        ),
        "sheet": Field(ListOf(SHEET, most=30), required=False, default=[]),
        "stages": Field(ListOf(STAGE, least=1)),
        "criteria": Field(ListOf(CRITERIA, least=1)),
    },
    "the practical task",
)
ASSESSORS = Record(
    {
        "required": Field(Whole(1, 9)),
        "combine": Field(Choice(("mean", "lower", "agreement"))),
    },
    "the assessors",
)
PASS_RULE = Record(
    {
        "critical": Field(YesNo()),
        "outcome_minima": Field(YesNo()),
        "cut": Field(SHARE, required=False),
        "band": Field(SHARE, required=False),
        "guard_band": Field(Choice(("not_met", "undecided")), required=False, default="undecided"),
        "assessors": Field(ASSESSORS),
    },
    "the pass rule",
)
PROGRAM = Record(
    {
        "format": Field(Choice((FORMAT,))),
        "code": Field(CODE),
        "version": Field(Whole(1, 9999)),
        "changes": Field(LONG, required=False, default=""),
        "title": Field(Text(200)),
        "needs": Field(LONG, required=False, default=""),
        "purpose": Field(LONG, required=False, default=""),
        "scope": Field(LONG, required=False, default=""),
        "validity_months": Field(Whole(1, 600), required=False),
        "unit": Field(Choice(PROGRAM_UNITS)),
        "prerequisites": Field(ListOf(PREREQUISITE, most=30), required=False, default=[]),
        "modules": Field(ListOf(MODULE, least=1)),
        "outcomes": Field(ListOf(OUTCOME, least=1)),
        "task": Field(TASK),
        "pass_rule": Field(PASS_RULE),
        "qualification": Field(QUALIFICATION, required=False),
        "retake": Field(RETAKE, required=False),
        "review": Field(REVIEW, required=False),
    },
    "a program",
)
