"""How the program's assessors stand against the agreed scores of its reference pieces."""

from assessments.evaluation.sections.words import counted, rounded
from assessments.evidence.results import Section, Table
from assessments.queries.calibration.assessors import Assessors

TITLE = "Assessors"
COLUMNS = ("Assessor", "Pieces scored", "Criteria compared", "Share as agreed", "Lean", "May sign")
NOTE = (
    "Lean is the mean of given less agreed scores: above 0 is milder than agreed, below 0 more "
    "severe. How assessors agree on trainees' work is in the evidence on the standard."
)


def assessors_section(found: Assessors) -> Section:
    """Each assessor's exact figures from calibration, for this version of the program."""
    rows = tuple(
        (
            row.person.full_name,
            len(row.sat),
            row.tally.criteria,
            rounded(row.tally.share),
            rounded(row.tally.bias),
            "yes" if found.requirement is None or row.may_sign else "no",
        )
        for row in found.rows
        if row.assesses
    )
    if not rows:
        return Section("assessors", TITLE, "Nobody leads or teaches this version of the program.")
    sat = sum(1 for row in rows if row[1])
    asked = (
        "The program asks for a calibration before sign-off."
        if found.requirement
        else "The program asks for no calibration: whoever leads or teaches it may sign off."
    )
    summary = f"{sat} of {counted(len(rows), 'assessor')} have scored a reference piece. {asked}"
    table = Table("assessors", "Assessors and reference pieces", COLUMNS, rows, first=True)
    return Section("assessors", TITLE, summary, tables=(table,), notes=(NOTE,))
