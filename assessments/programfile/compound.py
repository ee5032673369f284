"""Lists, mappings and records of a program file."""

from collections.abc import Iterator, Mapping
from copy import deepcopy
from dataclasses import dataclass, field

from ruamel.yaml.comments import CommentedMap, CommentedSeq
from ruamel.yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode

from assessments.programfile.places import Place
from assessments.programfile.shapes import Shape, Stored, Word, is_null, suggest


def pairs(node: MappingNode, place: Place) -> Iterator[tuple[str, Node, Node]]:
    """Yield (name, name's node, value's node); note a fault for a name written twice."""
    lines: dict[str, int] = {}
    for name_node, value_node in node.value:
        if not isinstance(name_node, ScalarNode):
            place.fault(name_node, "write a single name before the colon")
            continue
        name = str(name_node.value)
        if name in lines:
            message = f"'{name}' is written twice (first on line {lines[name]}); keep one of them"
            place.fault(name_node, message)
            continue
        lines[name] = name_node.start_mark.line + 1
        if is_null(value_node):  # YAML puts what is not there on some later line
            value_node.start_mark = name_node.start_mark
        yield name, name_node, value_node


@dataclass(frozen=True)
class ListOf:
    """Items of one shape; a record is labelled by its ``key`` where it has one."""

    item: Shape
    least: int = 0
    most: int = 200
    flow: bool = False

    @property
    def hint(self) -> str:
        return f"a list; each line: a hyphen, then {self.item.hint}"

    def read(self, node: Node, place: Place) -> Stored:
        if is_null(node) and self.least == 0:
            return []
        if not isinstance(node, SequenceNode):
            place.fault(node, f"write {self.hint}")
            return None
        if not self.least <= len(node.value) <= self.most:
            message = f"{len(node.value)} are written here; write {self.least} to {self.most}"
            place.fault(node, message)
        values = []
        for number, part in enumerate(node.value):
            values.append(self.item.read(part, place.enter(part, number, _label(part, number))))
        return values

    def write(self, value: Stored, unit: str | None) -> object:
        assert isinstance(value, list)
        out = CommentedSeq([self.item.write(part, unit) for part in value])
        if self.flow:
            out.fa.set_flow_style()
        return out


def _label(node: Node, number: int) -> str:
    """Return ``[joint_width]`` for a record with a key, else ``[#3]``, counted from 1."""
    if isinstance(node, MappingNode):
        for name, value in node.value:
            if name.value == "key" and isinstance(value, ScalarNode) and value.value:
                return f"[{value.value}]"
    return f"[#{number + 1}]"


@dataclass(frozen=True)
class MapOf:
    """Names of the writer's choosing, each with a value of one shape; written in order of name
    where ``in_order`` is true, because the database does not keep the order of such names."""

    name: Word
    value: Shape
    least: int = 0
    most: int = 50
    flow: bool = False
    in_order: bool = False

    @property
    def hint(self) -> str:
        return f"names, each with a colon and {self.value.hint}"

    def read(self, node: Node, place: Place) -> Stored:
        if is_null(node) and self.least == 0:
            return {}
        if not isinstance(node, MappingNode):
            place.fault(node, f"write {self.hint}")
            return None
        if not self.least <= len(node.value) <= self.most:
            message = f"{len(node.value)} are written here; write {self.least} to {self.most}"
            place.fault(node, message)
        values = {}
        for name, name_node, value_node in pairs(node, place):
            inside = place.enter(value_node, name)
            if self.name.read(name_node, inside) is not None:
                values[name] = self.value.read(value_node, inside)
        return values

    def write(self, value: Stored, unit: str | None) -> object:
        assert isinstance(value, dict)
        items = sorted(value.items()) if self.in_order else value.items()
        out = CommentedMap((name, self.value.write(part, unit)) for name, part in items)
        if self.flow:
            out.fa.set_flow_style()
        return out


@dataclass(frozen=True)
class Field:
    """One named part of a record; ``default`` is stored when an optional part is left out."""

    shape: Shape
    required: bool = True
    default: Stored = None


@dataclass(frozen=True)
class Record:
    """Named parts in the order in which they are written.

    A part named ``unit`` says in which unit its neighbours and what they hold are measured.
    """

    fields: Mapping[str, Field]
    hint: str = "named parts"
    elsewhere: Mapping[str, str] = field(default_factory=dict)  # part -> where it belongs

    def read(self, node: Node, place: Place) -> Stored:
        if not isinstance(node, MappingNode):
            place.fault(node, f"write {self.hint}: {', '.join(self.fields)}")
            return None
        found: dict[str, Node] = {}
        for name, name_node, value_node in pairs(node, place):
            if name in self.fields:
                found[name] = value_node
            else:
                place.enter(name_node, name).fault(name_node, self._unknown(name))
        place = place.in_unit(self._unit(found, place))
        values = {}
        for name, part in self.fields.items():
            values[name] = self._read_part(name, part, found.get(name), node, place)
        return values

    def _read_part(
        self, name: str, part: Field, node: Node | None, around: Node, place: Place
    ) -> Stored:
        if node is None or (is_null(node) and not part.required):
            if part.required:
                message = f"this is missing; write '{name}: ' and {part.shape.hint}"
                place.enter(around, name).fault(around, message)
            return deepcopy(part.default)
        return part.shape.read(node, place.enter(node, name))

    def _unknown(self, name: str) -> str:
        if name in self.elsewhere:
            return f"'{name}' does not belong here; {self.elsewhere[name]}"
        return f"no field is called '{name[:40]}'; {suggest(name, list(self.fields))}"

    def _unit(self, found: Mapping[str, Node], place: Place) -> str | None:
        if "unit" not in self.fields:
            return place.unit
        node = found.get("unit")
        return str(node.value) if isinstance(node, ScalarNode) and not is_null(node) else None

    def write(self, value: Stored, unit: str | None) -> object:
        assert isinstance(value, dict)
        unit = value["unit"] if "unit" in self.fields else unit
        out = CommentedMap()
        for name, part in self.fields.items():
            stored = value.get(name, part.default)
            if not part.required and stored in (None, "", [], {}):
                continue
            out[name] = part.shape.write(stored, unit)
        return out
