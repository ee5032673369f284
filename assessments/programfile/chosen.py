"""Records that differ by the word in one of their fields: a criterion by kind, a sum by sum."""

from collections.abc import Mapping
from dataclasses import dataclass

from ruamel.yaml.nodes import MappingNode, Node, ScalarNode

from assessments.programfile.compound import Field, Record
from assessments.programfile.places import Place
from assessments.programfile.shapes import Stored

Fields = Mapping[str, Field]


@dataclass(frozen=True)
class Chosen:
    """A record whose fields are chosen by the word in the field ``by``."""

    by: str
    records: Mapping[str, Record]
    unknown: Record
    hint: str

    def read(self, node: Node, place: Place) -> Stored:
        return self._record(self._word(node)).read(node, place)

    def write(self, value: Stored, unit: str | None) -> object:
        assert isinstance(value, dict)
        return self._record(str(value[self.by])).write(value, unit)

    def _record(self, word: str) -> Record:
        return self.records.get(word, self.unknown)

    def _word(self, node: Node) -> str:
        if isinstance(node, MappingNode):
            for name, value in node.value:
                if name.value == self.by and isinstance(value, ScalarNode):
                    return str(value.value)
        return ""


def chosen(
    by: str, common: Fields, kinds: Mapping[str, Fields], noun: str, last: Fields | None = None
) -> Chosen:
    """Return the records of ``kinds``: the common fields, then a kind's own, then the last ones."""
    hint, after = f"a {noun}", last or {}
    return Chosen(
        by=by,
        records={
            kind: Record(
                {**common, **fields, **after}, hint, elsewhere=_elsewhere(kind, kinds, noun)
            )
            for kind, fields in kinds.items()
        },
        # Without a known kind, the fields of any kind may stand: only the kind itself is at fault.
        unknown=Record(
            {
                **common,
                **{
                    name: Field(part.shape, required=False)
                    for fields in kinds.values()
                    for name, part in fields.items()
                },
                **after,
            },
            hint,
        ),
        hint=hint,
    )


def _elsewhere(kind: str, kinds: Mapping[str, Fields], noun: str) -> dict[str, str]:
    """Return, for a field of another kind only, the sentence that says which kind has it."""
    owners: dict[str, list[str]] = {}
    for other, fields in kinds.items():
        for name in fields:
            if name not in kinds[kind]:
                owners.setdefault(name, []).append(other)
    return {
        name: f"only {'an' if each[0][0] in 'aeiou' else 'a'} {' or '.join(each)} {noun} has it"
        for name, each in owners.items()
    }
