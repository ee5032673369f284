"""The single values of a program file: how each is read, checked and written again.

``read`` returns the value in the form that is stored, or None after it has noted a fault.
``write`` returns what ruamel.yaml is to write for a stored value.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Protocol

from ruamel.yaml.nodes import Node, ScalarNode
from ruamel.yaml.scalarstring import FoldedScalarString, LiteralScalarString

from assessments.programfile import quantities
from assessments.programfile.places import Place

WIDTH = 96
MOST_NAMED = 18
Stored = object  # str | bool | int | None, or a list or dict of these


class Shape(Protocol):
    """One kind of value; ``hint`` finishes the sentence 'write ...'."""

    @property
    def hint(self) -> str: ...

    def read(self, node: Node, place: Place) -> Stored:
        """Return the stored form of ``node``, or None after noting a fault."""

    def write(self, value: Stored, unit: str | None) -> object:
        """Return what YAML is to hold for a stored value; ``unit`` is that of the part around."""


def is_null(node: Node) -> bool:
    """Say whether a value was left empty (nothing, ~ or null, not in quotes)."""
    return isinstance(node, ScalarNode) and str(node.tag) == "tag:yaml.org,2002:null"


def read_scalar(node: Node, place: Place, hint: str) -> str | None:
    """Return the text of a single value as typed; None, with a fault, for a list or mapping."""
    if isinstance(node, ScalarNode) and not is_null(node):
        return str(node.value)
    place.fault(node, f"write {hint}" if is_null(node) else f"write {hint}, not several values")
    return None


def suggest(word: str, known: list[str]) -> str:
    """Return the end of a sentence: the nearest known word, or what there is to choose from."""
    near = get_close_matches(word, known, n=1, cutoff=0.7)
    near += [each for each in known if len(word) > 2 and each.startswith(word)]
    if near:
        return f"did you mean '{near[0]}'?"
    if len(known) > MOST_NAMED:
        return f"write one such as: {', '.join(known[:MOST_NAMED])}"
    return f"write one of: {', '.join(known)}" if known else "none is written in this file"


@dataclass(frozen=True)
class Text:
    """A text; over one line only where ``lines`` is true (each line break is kept)."""

    limit: int = 200
    lines: bool = False

    @property
    def hint(self) -> str:
        return f"a text of at most {self.limit} characters"

    def read(self, node: Node, place: Place) -> Stored:
        text = read_scalar(node, place, self.hint)
        if text is None:
            return None
        rows = [" ".join(row.split()) for row in text.strip().split("\n")]
        text = "\n".join(rows) if self.lines else " ".join(rows)
        if not text:
            place.fault(node, f"write {self.hint}")
        elif len(text) > self.limit:
            place.fault(node, f"this has {len(text)} characters; write {self.hint}")
        else:
            return text
        return None

    def write(self, value: Stored, unit: str | None) -> object:
        text = str(value)
        if "\n" in text:
            return LiteralScalarString(text)
        return FoldedScalarString(text) if len(text) > WIDTH * 2 // 3 else text


@dataclass(frozen=True)
class Word:
    """A key or code that matches ``pattern``."""

    pattern: str
    hint: str

    def read(self, node: Node, place: Place) -> Stored:
        text = read_scalar(node, place, self.hint)
        if text is None or re.fullmatch(self.pattern, text):
            return text
        place.fault(node, f"'{text[:40]}' is not a name we can use; write {self.hint}")
        return None

    def write(self, value: Stored, unit: str | None) -> object:
        return value


@dataclass(frozen=True)
class Choice:
    """One word of a fixed list."""

    options: tuple[str, ...]

    @property
    def hint(self) -> str:
        return "one of: " + ", ".join(self.options)

    def read(self, node: Node, place: Place) -> Stored:
        text = read_scalar(node, place, self.hint)
        if text is None or text in self.options:
            return text
        place.fault(node, f"'{text[:40]}' is not known here; {suggest(text, list(self.options))}")
        return None

    def write(self, value: Stored, unit: str | None) -> object:
        return value


@dataclass(frozen=True)
class YesNo:
    """``yes`` or ``no``; ``true`` and ``false`` are read too."""

    hint: str = "yes or no"

    def read(self, node: Node, place: Place) -> Stored:
        text = read_scalar(node, place, self.hint)
        if text is None:
            return None
        if text.lower() in ("yes", "true", "no", "false"):
            return text.lower() in ("yes", "true")
        place.fault(node, f"'{text[:40]}' is neither; write {self.hint}")
        return None

    def write(self, value: Stored, unit: str | None) -> object:
        return "yes" if value else "no"


@dataclass(frozen=True)
class Whole:
    """A whole number in a range, stored as an integer."""

    low: int
    high: int

    @property
    def hint(self) -> str:
        return f"a whole number from {self.low} to {self.high:,}"

    def read(self, node: Node, place: Place) -> Stored:
        text = read_scalar(node, place, self.hint)
        if text is None:
            return None
        if re.fullmatch(r"-?[0-9]{1,9}", text) and self.low <= int(text) <= self.high:
            return int(text)
        place.fault(node, f"'{text[:40]}' does not do; write {self.hint}")
        return None

    def write(self, value: Stored, unit: str | None) -> object:
        return value


@dataclass(frozen=True)
class Exact:
    """A number held exactly as a string, read and written by two functions."""

    hint: str
    reader: Callable[[str], str]
    writer: Callable[[str], str]

    def read(self, node: Node, place: Place) -> Stored:
        text = read_scalar(node, place, self.hint)
        try:
            return None if text is None else self.reader(text)
        except ValueError as error:
            place.fault(node, f"'{text}' does not do; {error}")
            return None

    def write(self, value: Stored, unit: str | None) -> object:
        text = self.writer(str(value))
        return int(text) if re.fullmatch(r"-?[0-9]+", text) else text


@dataclass(frozen=True)
class Measure:
    """A number in the unit of the part around it; a formula over the dimensions if allowed."""

    formula: bool = False

    @property
    def hint(self) -> str:
        end = ", or a formula over the dimensions" if self.formula else ""
        return f"a number and its unit, for example 1/16 in or 2 mm{end}"

    def read(self, node: Node, place: Place) -> Stored:
        text = read_scalar(node, place, self.hint)
        if text is None or place.unit is None:  # the missing unit has its own fault
            return None
        if self.formula and not quantities.looks_like_measure(text):
            return " ".join(text.split())  # the engine reads it, and names what it cannot read
        try:
            return quantities.read_measure(text, place.unit)[0]
        except ValueError as error:
            place.fault(node, f"'{text[:40]}' does not do; {error}")
            return None

    def write(self, value: Stored, unit: str | None) -> object:
        text = str(value)
        if not quantities.looks_like_measure(text):
            return text
        return quantities.write_measure(text, unit or "")


@dataclass(frozen=True)
class Dimension:
    """A number with a unit of its own, stored as {value, unit}."""

    units: tuple[str, ...]
    hint: str = "a number and its unit, for example 6 in or 150 mm"

    def read(self, node: Node, place: Place) -> Stored:
        text = read_scalar(node, place, self.hint)
        try:
            value, unit = quantities.read_measure(text or "")
        except ValueError as error:
            if text is not None:
                place.fault(node, f"'{text[:40]}' does not do; {error}")
            return None
        if unit not in self.units:
            place.fault(
                node, f"'{unit}' is not a unit known here; {suggest(unit, list(self.units))}"
            )
            return None
        return {"value": value, "unit": unit}

    def write(self, value: Stored, unit: str | None) -> object:
        assert isinstance(value, dict)
        return quantities.write_measure(value["value"], value["unit"])


@dataclass(frozen=True)
class DecisionRule:
    """``simple``, or ``guard band 1`` (r times U on each side), stored as {kind, r}."""

    hint: str = "simple, or a guard band of r times U, for example guard band 1"

    def read(self, node: Node, place: Place) -> Stored:
        text = read_scalar(node, place, self.hint)
        if text is None:
            return None
        if text.strip() == "simple":
            return {"kind": "simple"}
        start, _, number = text.strip().partition("guard band")
        try:
            if start or not number:
                raise ValueError
            return {"kind": "guard_band", "r": quantities.read_number(number)}
        except ValueError:
            place.fault(node, f"'{text[:40]}' is not a decision rule; write {self.hint}")
            return None

    def write(self, value: Stored, unit: str | None) -> object:
        assert isinstance(value, dict)
        if value["kind"] == "simple":
            return "simple"
        return f"guard band {quantities.write_number(value['r'])}"
