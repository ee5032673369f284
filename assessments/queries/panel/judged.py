"""What the judges of a panel are shown: a program without what the panel is to fix."""

from typing import Any

from assessments.engine.canonical import digest
from assessments.programfile.standard import standard_from_program
from assessments.queries.program_document import program_document
from training.models import Program

# What a panel recommends or its adoption sets: these may change after the judging.
FIXED_BY_PANEL = ("cut", "band")


def judged_document(document: dict[str, Any]) -> dict[str, Any]:
    """Return what judges are shown of a program document (the form of a program file).

    It is the standard to be sealed without the cut and the band, the minima of the outcomes and
    the critical flags, since adopting the panel's recommendation sets those.
    """
    shown = standard_from_program(document)
    for outcome in shown["outcomes"]:
        del outcome["minimum"]
    for criterion in shown["criteria"]:
        del criterion["critical"]
    for name in FIXED_BY_PANEL:
        shown["pass_rule"].pop(name, None)
    return shown


def judged_digest(program: Program) -> str:
    """Return the digest of what judges are shown of ``program``; Refused if it has no task.

    ``Panel.judged_digest`` keeps it from the moment the judging begins.
    """
    return digest(judged_document(program_document(program)))
