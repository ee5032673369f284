"""Everything that the evaluation of a program rests on, read in a fixed number of queries."""

import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from assessments.evaluation.loading import load
from assessments.evaluation.practice import Paired, paired, practice_minutes
from assessments.queries.attainment import Attainment, summed
from assessments.queries.calibration.assessors import Assessors, assessors_of
from training.models import Complaint, CourseRun, Program, ProgramChange
from training.queries.changes import changes_of, versions_of
from training.queries.complaints import complaints_for_everybody
from training.queries.reactions import Reactions, reactions_by_run


@dataclass(frozen=True)
class Evaluation:
    """A program in all its versions: its runs, the earliest first, and what is known of each.

    ``complaints`` and ``assessors`` are None for a reader who does not lead the program:
    one may be about that reader.
    """

    program: Program
    runs: Sequence[CourseRun]
    whole: Attainment
    by_run: Mapping[uuid.UUID, Attainment]
    reactions: Mapping[uuid.UUID, Reactions]
    practice: Paired
    changes: Sequence[ProgramChange]
    complaints: Sequence[Complaint] | None
    assessors: Assessors | None


def evaluation_of(program: Program, *, leads: bool) -> Evaluation:
    """Return what the evaluation of ``program`` rests on (21 queries at most).

    Runs of every version of the program count, planned ones too.
    """
    versions = versions_of(program).order_by()
    runs = list(
        CourseRun.objects.filter(program__in=versions)
        .select_related("program", "site")
        .order_by("starts_on", "pk")
    )
    loaded = load(runs)
    rows = {run.pk: [row for row in loaded.rows if row.run == run.pk] for run in runs}
    return Evaluation(
        program=program,
        runs=runs,
        whole=summed(loaded, loaded.rows),
        by_run={key: summed(loaded, found) for key, found in rows.items()},
        reactions=reactions_by_run(runs),
        practice=paired(loaded.rows, practice_minutes(runs)),
        changes=list(changes_of(program)),
        complaints=_complaints(runs) if leads else None,
        assessors=assessors_of(program) if leads else None,
    )


def _complaints(runs: Sequence[CourseRun]) -> list[Complaint]:
    keys = [run.pk for run in runs]
    told = complaints_for_everybody(Complaint.objects.filter(run__in=keys))
    return list(told.defer("text", "answer").order_by("made_at"))
