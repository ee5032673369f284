"""The standard document of a program, built from its rows."""

from typing import Any

from assessments.programfile.standard import standard_from_program
from assessments.queries.program_document import program_document
from training.models import Program


def standard_document(program: Program) -> dict[str, Any]:
    """Return the standard of ``program`` (engine/FORMATS.md); raise Refused if it has no task.

    Built anew from the rows each time; what is sealed is a copy that no longer changes.
    """
    return standard_from_program(program_document(program))
