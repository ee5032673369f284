"""The score sheet to print: one trainee's, or those of a whole run, with room to write."""

import uuid
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

from assessments.engine.kinds.measured import Measured
from assessments.engine.standard import Stage
from assessments.models import Attempt, Retake, SealedStandard
from assessments.queries.attempts import Standing, standings
from assessments.queries.task_sheet import SheetCriterion, TaskSheet, sheet_of
from assessments.subjects import CRITERION, HOLD_POINT, subjects_of
from training.models import CourseRun, Enrolment


@dataclass(frozen=True)
class PaperRow:
    """A criterion with its number on the sheet; ``readings`` are the numbers of its boxes."""

    number: int
    criterion: SheetCriterion
    kind: str
    readings: range


@dataclass(frozen=True)
class PaperStage:
    """A step of the work; ``hold_number`` is that of its hold point, or None.

    ``stands``: it is not made again in this attempt, so nothing is written there.
    """

    stage: Stage
    rows: list[PaperRow]
    hold_number: int | None
    stands: bool = False


@dataclass(frozen=True)
class PrintedSheet:
    """What one trainee is scored on; without an open attempt, the number stays to be written."""

    enrolment: Enrolment
    attempt: Attempt | None
    standard: SealedStandard
    task: TaskSheet
    stages: list[PaperStage]


def printed_sheets(run: CourseRun) -> list[PrintedSheet]:
    """Return the sheet of everybody enrolled who has not met the standard yet, by name.

    Empty where no standard is sealed.
    """
    return _printed(run, (row for row in standings(run) if row.open or row.may_start))


def printed_sheet(enrolment: Enrolment) -> PrintedSheet | None:
    """Return the sheet of one trainee; None where no standard is sealed, or nothing is left."""
    rows = (row for row in standings(enrolment.run) if row.enrolment.pk == enrolment.pk)
    found = _printed(enrolment.run, (row for row in rows if row.open or row.may_start))
    return found[0] if found else None


def needed_of(task: TaskSheet) -> dict[str, str]:
    """Return what each criterion must come to, by its key, as the sheet says it."""
    return {row.criterion.key: row.needed for _, rows in task.stages for row in rows}


def _printed(run: CourseRun, rows: Iterable[Standing]) -> list[PrintedSheet]:
    """Return the sheets; each standard is worked out once."""
    standards = {each.pk: each for each in run.program.standards.order_by("serial")}
    if not standards:
        return []
    newest = list(standards.values())[-1]
    rows = list(rows)
    open_ = [row.open.pk for row in rows if row.open]
    carried: dict[uuid.UUID, list[str]] = dict(
        Retake.objects.filter(attempt__in=open_).values_list("attempt", "carried")
    )
    made: dict[Any, tuple[TaskSheet, list[PaperStage]]] = {}
    found = []
    for row in rows:
        standard = standards[row.open.standard_id] if row.open else newest
        if standard.pk not in made:
            task = sheet_of(run.program, standard.document)
            made[standard.pk] = task, _stages(task, standard)
        task, stages = made[standard.pk]
        if row.open and row.open.pk in carried:
            stages = [
                replace(each, stands=each.stage.key in carried[row.open.pk]) for each in stages
            ]
        found.append(PrintedSheet(row.enrolment, row.open, standard, task, stages))
    return found


def _stages(task: TaskSheet, standard: SealedStandard) -> list[PaperStage]:
    """Return the stages with the numbers that the page for keying in has as well."""
    subjects = subjects_of(standard.document)
    numbers = {(each.kind, each.key): number for number, each in enumerate(subjects, 1)}
    kinds = {each.key: each.form_kind for each in subjects if each.kind == CRITERION}
    return [
        PaperStage(
            stage,
            [_row(each, numbers[CRITERION, each.criterion.key], kinds) for each in rows],
            numbers.get((HOLD_POINT, stage.key)),
        )
        for stage, rows in task.stages
    ]


def _row(criterion: SheetCriterion, number: int, kinds: dict[str, str]) -> PaperRow:
    rule = criterion.criterion.rule
    readings = rule.readings if isinstance(rule, Measured) else 0
    return PaperRow(number, criterion, kinds[criterion.criterion.key], range(1, readings + 1))
