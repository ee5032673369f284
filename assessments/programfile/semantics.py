"""What only the engine can judge in a program file: formulas, limits, levels, the pass rule."""

from collections.abc import Iterator
from typing import Any

from assessments.engine.errors import EngineError
from assessments.engine.standard import load_criterion, load_dimensions, load_standard
from assessments.programfile.places import Marks
from assessments.programfile.standard import program_path, standard_from_program


def check_semantics(document: dict[str, Any], marks: Marks) -> None:
    """Let the engine read the standard of a complete document; add its faults at their lines."""
    for error in _faults(standard_from_program(document)):
        marks.fault_at(program_path(error.path), error.message)


def _faults(standard: dict[str, Any]) -> Iterator[EngineError]:
    """Yield what the engine refuses: each criterion alone first, so that all are named at once."""
    try:
        dimensions = load_dimensions(standard["dimensions"])
    except EngineError as error:
        yield error
        return
    found = False
    for number, criterion in enumerate(standard["criteria"]):
        try:
            load_criterion(criterion, dimensions)
        except EngineError as error:
            found = True
            yield error.under(f"criteria[{number}]")
    if found:
        return
    try:
        load_standard(standard)
    except EngineError as error:
        yield error
