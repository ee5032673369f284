"""The document of the format names every field, and its example is a file that can be sealed."""

import re
from collections.abc import Iterator
from pathlib import Path

from assessments.engine.standard import sealing_faults
from assessments.programfile.chosen import Chosen
from assessments.programfile.compound import ListOf, Record
from assessments.programfile.reading import read_program
from assessments.programfile.schema import PROGRAM
from assessments.programfile.shapes import Choice, Shape
from assessments.programfile.standard import standard_from_program
from assessments.programfile.writing import write_program

DOCUMENT = (Path(__file__).parents[3] / "fixtures" / "PROGRAM_FORMAT.md").read_text("utf-8")


def fields(shape: Shape) -> Iterator[tuple[str, Shape, bool]]:
    """Yield (name, shape, required) of each field that a file can hold."""
    if isinstance(shape, ListOf):
        yield from fields(shape.item)
    elif isinstance(shape, Chosen):
        for record in shape.records.values():
            yield from fields(record)
    elif isinstance(shape, Record):
        for name, field in shape.fields.items():
            yield name, field.shape, field.required
            yield from fields(field.shape)


def test_every_field_is_documented_and_marked_if_it_is_required() -> None:
    found = list(fields(PROGRAM))
    assert len(found) > 100
    for name, _, required in found:
        assert f"`{name}`" in DOCUMENT, name
        if required:
            assert f"`{name}` *" in DOCUMENT, name


def test_every_word_to_choose_from_is_documented() -> None:
    choices = [
        (name, shape.options) for name, shape, _ in fields(PROGRAM) if isinstance(shape, Choice)
    ]
    known = {name for name, _ in choices}
    assert {"format", "kind", "statistic", "combine", "guard_band", "sum", "guide"} <= known
    for name, options in choices:
        if name not in ("quantity", "unit"):  # the engine's own lists
            assert [each for each in options if f"`{each}`" not in DOCUMENT] == []


def test_every_documented_field_exists() -> None:
    known = {name for name, _, _ in fields(PROGRAM)}
    rows = [line for line in DOCUMENT.splitlines() if line.startswith("| `") or "| `" in line[:14]]
    named = {name for row in rows for name in re.findall(r"`(\w+)` \*", row)}
    assert len(named) > 35
    assert named <= known


def test_the_example_is_canonical_and_can_be_sealed() -> None:
    example = DOCUMENT.split("```yaml\n")[1].split("```")[0]
    document = read_program(example, "example.yaml").document
    assert write_program(document) == example
    assert sealing_faults(standard_from_program(document)) == []
