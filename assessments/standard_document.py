"""The standard document of a program, built from its rows."""

from typing import Any

from assessments.programfile.standard import standard_from_program
from assessments.queries.panel.fixed import adoption_of, panel_facts
from assessments.queries.program_document import program_document
from training.models import Program


def standard_document(program: Program) -> dict[str, Any]:
    """Return the standard of ``program`` (engine/FORMATS.md); raise Refused if it has no task.

    Built anew from the rows each time; what is sealed is a copy that no longer changes.
    """
    return with_panel(program, program_document(program))


def with_panel(program: Program, document: dict[str, Any]) -> dict[str, Any]:
    """Return the standard of a program document, with who fixed it where a panel did."""
    standard = standard_from_program(document)
    adoption = adoption_of(program)
    if adoption is not None:
        standard["about"]["panel"] = panel_facts(adoption)
    return standard
