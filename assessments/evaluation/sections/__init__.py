"""An evaluation as sections of evidence: for a page, a PDF and a spreadsheet alike."""

from assessments.evaluation.data import Evaluation
from assessments.evaluation.sections.assessors import assessors_section
from assessments.evaluation.sections.attained import outcomes_section
from assessments.evaluation.sections.complaints import changes_section, complaints_section
from assessments.evaluation.sections.practised import practice_section
from assessments.evaluation.sections.reacted import reactions_section
from assessments.evaluation.sections.runs import runs_section
from assessments.evidence.results import Section

__all__ = ["sections_of"]


def sections_of(found: Evaluation) -> list[Section]:
    """Return the sections, in the order in which they are read (no query)."""
    sections = [
        runs_section(found),
        outcomes_section(found),
        reactions_section(found),
        practice_section(found),
    ]
    if found.assessors is not None:
        sections.append(assessors_section(found.assessors))
    if found.complaints is not None:
        sections.append(complaints_section(found, found.complaints))
    return [*sections, changes_section(found)]
