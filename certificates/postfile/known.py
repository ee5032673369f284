"""What a row leaves unsaid about a post that is known already."""

from __future__ import annotations

from collections.abc import Mapping

from certificates.actions.projects.values import PostValues
from certificates.postfile.columns import COLUMNS, ENDS
from certificates.postfile.lines import Line
from certificates.postfile.write import post_cells

# What is said about a program holds for that program alone.
_OF_PROGRAM = {
    "version": "program",
    "provider": "program",
    "lead version": "lead program",
    "lead provider": "lead program",
}


def completed(line: Line, known: PostValues) -> Line:
    """Return the row with what the post says now in the columns that the file does not have.

    A file with another program takes over neither the version nor the conditions of the old one.
    """
    said = {_variable(column) for column in line.cells}
    now = post_cells(known)
    cells = dict(line.cells)
    for column, cell in now.items():
        named = _OF_PROGRAM.get(column, None if column in COLUMNS else "program")
        if _variable(column) not in said and (named is None or _same(line, now, named)):
            cells[column] = cell
    return Line(line.number, cells)


def _same(line: Line, now: Mapping[str, str], program: str) -> bool:
    before = now.get(program, "")
    return line.cells.get(program, before).upper() == before


def _variable(column: str) -> str:
    """Return what a column is about: the three columns of a size are about one variable."""
    if column in COLUMNS:
        return f"own {column}"
    plain = column.casefold().removeprefix("condition ")
    for end in ENDS:
        plain = plain.removesuffix(f" {end}")
    return plain
