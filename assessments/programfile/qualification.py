"""The rules of range and continuity, as a program file writes them."""

from collections.abc import Mapping
from dataclasses import dataclass

from ruamel.yaml.comments import CommentedSeq
from ruamel.yaml.nodes import Node, SequenceNode

from assessments.engine.units import UNITS
from assessments.programfile.chosen import chosen
from assessments.programfile.compound import Field, ListOf, Record
from assessments.programfile.places import Place
from assessments.programfile.shapes import Choice, Measure, Stored, Text, Whole
from assessments.programfile.values import KEY, LONG, NUMBER, SENTENCE

VALUE = Text(100)
VALUES = ListOf(VALUE, least=1, most=30, flow=True)
# A factor says nothing on a temperature, whose zero is no nothing; the engine refuses it too.
WINDOW_UNITS = tuple(name for name, unit in UNITS.items() if not unit.offset)


@dataclass(frozen=True)
class OneOrMore:
    """One value, or a list of them; kept as it was written."""

    hint: str = "one of the values, or a list of them"

    def read(self, node: Node, place: Place) -> Stored:
        shape = VALUES if isinstance(node, SequenceNode) else VALUE
        return shape.read(node, place)

    def write(self, value: Stored, unit: str | None) -> object:
        if not isinstance(value, list):
            return VALUE.write(value, unit)
        out = CommentedSeq([VALUE.write(part, unit) for part in value])
        out.fa.set_flow_style()
        return out


FACTOR = Field(NUMBER, required=False)
KINDS: Mapping[str, Mapping[str, Field]] = {
    "ordered": {"values": Field(VALUES), "assessed": Field(VALUE)},
    "as_assessed": {"values": Field(VALUES), "assessed": Field(OneOrMore())},
    "window": {
        "unit": Field(Choice(WINDOW_UNITS)),
        "assessed": Field(Measure(), required=False),
        "dimension": Field(KEY, required=False),
        "from": FACTOR,
        "to": FACTOR,
    },
}
VARIABLE = chosen(
    "kind",
    {"key": Field(KEY), "title": Field(Text(100)), "kind": Field(Choice(tuple(KINDS)))},
    KINDS,
    "variable",
    last={"source": Field(SENTENCE)},
)
CONTINUITY = Record(
    {"every_months": Field(Whole(1, 120)), "grace_days": Field(Whole(0, 366))}, "the continuity"
)
RENEWAL = Record(
    {
        "before_days": Field(Whole(0, 366)),
        "after_days": Field(Whole(0, 366)),
        "stages": Field(ListOf(KEY, least=1, flow=True)),
    },
    "the renewal",
)
QUALIFICATION = Record(
    {
        "basis": Field(LONG),
        "variables": Field(ListOf(VARIABLE, least=1, most=20)),
        "continuity": Field(CONTINUITY, required=False),
        "renewal": Field(RENEWAL, required=False),
    },
    "the rules of range and continuity",
)
