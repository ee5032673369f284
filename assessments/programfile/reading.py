"""Reading a program file: everything that is wrong in it is found in one go."""

from dataclasses import dataclass
from typing import Any

from assessments.programfile.faults import ProgramFileError
from assessments.programfile.places import Mark, Marks, Place
from assessments.programfile.references import check_references, put_in_order
from assessments.programfile.schema import PROGRAM
from assessments.programfile.semantics import check_semantics
from assessments.programfile.yamltext import read_tree


@dataclass(frozen=True)
class ProgramFile:
    """A file that was read without a fault; ``document`` holds only plain JSON data.

    The document has the fields of the file, each value in the exact form that is stored.
    """

    filename: str
    document: dict[str, Any]
    marks: Marks


def read_program(source: bytes | str, filename: str) -> ProgramFile:
    """Return the program written in ``source``; raise ProgramFileError with every fault."""
    node = read_tree(source, filename)
    marks = Marks({(): Mark(1, 1, "")})
    document = PROGRAM.read(node, Place(marks))
    assert isinstance(document, dict)
    check_references(document, marks)
    if not marks.faults:  # the engine reads only what is complete
        put_in_order(document)
        check_semantics(document, marks)
    if marks.faults:
        raise ProgramFileError(filename, marks.faults)
    return ProgramFile(filename, document, marks)
