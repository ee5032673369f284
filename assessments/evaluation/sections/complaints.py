"""Complaints by run, and what was decided to change."""

from collections.abc import Sequence
from statistics import median

from assessments.evaluation.data import Evaluation
from assessments.evaluation.sections.words import counted, run_name
from assessments.evidence.results import Figure, NotComputed, Result, Section, Table
from training.models import Complaint

DAY = 86400
COMPLAINTS, CHANGES = "Complaints", "Changes decided"


def complaints_section(found: Evaluation, complaints: Sequence[Complaint]) -> Section:
    """How many complaints there were about each run, and how long answers took (days)."""
    if not complaints:
        return Section("complaints", COMPLAINTS, "Nobody has complained about a run.")
    still = sum(each.state == Complaint.State.OPEN for each in complaints)
    rows = []
    for run in found.runs:
        own = [each for each in complaints if each.run_id == run.pk]
        waiting = sum(each.state == Complaint.State.OPEN for each in own)
        rows.append((run_name(run), len(own), waiting))
    table = Table("complaints", "Complaints by run", ("Run", "Made", "Open"), tuple(rows))
    return Section(
        "complaints",
        COMPLAINTS,
        f"{counted(len(complaints), 'complaint')}, of which {still} still open.",
        figures=(_days(complaints),),
        tables=(table,),
        notes=("What was complained of is read by the training leads alone.",),
    )


def _days(complaints: Sequence[Complaint]) -> Result:
    key, title = "answered_after", "Median time to an answer (days)"
    days = [
        (each.answered_at - each.made_at).total_seconds() / DAY
        for each in complaints
        if each.answered_at is not None
    ]
    if not days:
        return NotComputed(key, title, "No complaint is answered yet.")
    return Figure(key, title, median(days), n=len(days))


def changes_section(found: Evaluation) -> Section:
    """What was decided, on what grounds, and what is done."""
    changes = found.changes
    if not changes:
        text = "No change is decided yet. Decide after each run what the figures ask for."
        return Section("changes", CHANGES, text)
    rows = tuple(
        (
            each.text,
            each.grounds,
            f"Version {each.program.version}",
            each.decided_on.isoformat(),
            each.due_on.isoformat() if each.due_on else None,
            each.done_on.isoformat() if each.done_on else None,
        )
        for each in changes
    )
    columns = ("Change", "Grounds", "In", "Decided", "Due", "Done")
    done = sum(each.done_on is not None for each in changes)
    summary = f"{counted(len(changes), 'change')} decided, {done} done."
    table = Table("changes", "Changes and their grounds", columns, rows, first=True)
    return Section("changes", CHANGES, summary, tables=(table,))
