"""What only the engine can judge in a program file: formulas, limits, levels, sums, the rules."""

from collections.abc import Callable, Iterator
from typing import Any

from assessments.engine.errors import EngineError
from assessments.engine.formula import Amount
from assessments.engine.qualification import rules_in
from assessments.engine.standard import load_criterion, load_dimensions, load_standard
from assessments.engine.tasksheet import sheet_sum
from assessments.programfile.places import Marks
from assessments.programfile.standard import program_path, standard_from_program


def check_semantics(document: dict[str, Any], marks: Marks) -> None:
    """Let the engine read the standard of a complete document; add its faults at their lines."""
    for error in _faults(document, standard_from_program(document)):
        marks.fault_at(program_path(error.path), error.message)


def _faults(document: dict[str, Any], standard: dict[str, Any]) -> Iterator[EngineError]:
    """Yield what the engine refuses: each criterion and sum alone first, so that all are named."""
    try:
        dimensions = load_dimensions(standard["dimensions"])
    except EngineError as error:
        yield error
        return
    alone = [
        *_each("criteria", standard["criteria"], load_criterion, dimensions),
        *_each("sheet", document["task"]["sheet"], sheet_sum, dimensions),
        *_qualification(document, standard),
    ]
    yield from alone
    if alone:
        return
    try:
        load_standard(standard)
    except EngineError as error:
        yield error


def _qualification(document: dict[str, Any], standard: dict[str, Any]) -> Iterator[EngineError]:
    try:
        rules = rules_in(standard)
    except EngineError as error:
        yield error
        return
    if rules and rules.renewal and document["validity_months"] is None:
        yield EngineError(
            "about.qualification.renewal",
            "A renewal goes by the last day of a record: write validity_months too, or leave "
            "the renewal out.",
        )


def _each(
    name: str,
    rows: list[dict[str, Any]],
    load: Callable[[object, dict[str, Amount]], object],
    dimensions: dict[str, Amount],
) -> Iterator[EngineError]:
    for number, row in enumerate(rows):
        try:
            load(row, dimensions)
        except EngineError as error:
            yield error.under(f"{name}[{number}]")
