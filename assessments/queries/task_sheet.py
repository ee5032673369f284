"""The task sheet of a trainee: what to make, by which figures, and how it will be looked at.

It says what the sealed document says. A standard that was sealed before it held the task takes
title, brief, cautions, conditions and sums from the rows of the program.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import ceil, floor
from typing import Any

from django.db.models import Prefetch
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from assessments.engine.errors import EngineError
from assessments.engine.kinds.checked import Checked
from assessments.engine.kinds.counted import Counted
from assessments.engine.kinds.limits import Limits
from assessments.engine.kinds.measured import Measured
from assessments.engine.kinds.rated import Rated
from assessments.engine.numbers import exact, tidy, to_fraction
from assessments.engine.quantities import base_text, format_quantity
from assessments.engine.standard import Criterion, Stage, Standard, load_standard
from assessments.engine.tasksheet import SheetSum, task_sheet
from assessments.engine.units import UNITS
from assessments.lengths import numbers
from assessments.models import Attempt, PracticalTask, SealedStandard
from assessments.sentences import time_text
from training.models import Enrolment, Person, Program
from training.said import said

Document = Mapping[str, Any]
ONE_READING = N_("One reading must be within.")
READINGS = {
    "each": N_("Each of {count} readings must be within."),
    "mean": N_("The mean of {count} readings must be within."),
    "largest": N_("The largest of {count} readings must be within."),
    "smallest": N_("The smallest of {count} readings must be within."),
    "spread": N_("The spread of {count} readings must be within."),
}


@dataclass(frozen=True)
class SheetCriterion:
    """One thing looked at: what it must come to (``needed``) and ``how`` that is found.

    ``levels`` of a rated criterion are (description, whether it is enough).
    """

    criterion: Criterion
    needed: str
    how: str
    levels: list[tuple[str, bool]]


@dataclass(frozen=True)
class TaskSheet:
    """What the sheet says, ready to show; ``dimensions`` are (name, text).

    ``sealed_with``: whether the task was sealed with the standard. ``trouble`` says why there
    are no sums although some are written.
    """

    title: str
    brief: str
    cautions: list[dict[str, str]]
    conditions: list[dict[str, str]]
    dimensions: list[tuple[str, str]]
    sums: list[SheetSum]
    trouble: str
    stages: list[tuple[Stage, list[SheetCriterion]]]
    sealed_with: bool


def sheet_of(program: Program, document: Document) -> TaskSheet:
    """Return the sheet of a standard's document (one query where it holds no task).

    Raises EngineError for a draft that cannot be read.
    """
    standard = load_standard(document)
    sealed = document.get("about", {}).get("task")
    task = sealed or _task_of_rows(program)
    sums: list[SheetSum] = []
    trouble = ""
    try:
        sums = task_sheet(task["sheet"], document["dimensions"])
    except EngineError as error:
        trouble = str(error)
    return TaskSheet(
        title=task["title"],
        brief=task["brief"],
        cautions=task["cautions"],
        conditions=task["conditions"],
        dimensions=[
            (_named(name), format_quantity(exact(row["value"]), row["unit"]))
            for name, row in sorted(document["dimensions"].items())
        ],
        sums=sums,
        trouble=trouble,
        stages=_stages(standard, program.unit),
        sealed_with=bool(sealed),
    )


@dataclass(frozen=True)
class OwnSheet:
    """A place on a run, and the standard that its task sheet is of: that of the last attempt."""

    enrolment: Enrolment
    standard: SealedStandard


def own_sheets(person: Person) -> list[OwnSheet]:
    """Return the task sheets of the runs that ``person`` is enrolled on (three queries)."""
    enrolments = (
        Enrolment.objects.filter(person=person, state=Enrolment.State.ENROLLED)
        .select_related("run__program", "run__site")
        .prefetch_related(
            Prefetch("attempts", Attempt.objects.order_by("-number")),
            Prefetch(
                "run__program__standards",
                SealedStandard.objects.defer("document").order_by("-serial"),
            ),
        )
        .order_by("-run__starts_on", "pk")
    )
    found = []
    for enrolment in enrolments:
        standards = list(enrolment.run.program.standards.all())
        used = next((attempt.standard_id for attempt in enrolment.attempts.all()), None)
        standard = next((each for each in standards if used in (None, each.pk)), None)
        if standard is not None:
            found.append(OwnSheet(enrolment, standard))
    return found


def _task_of_rows(program: Program) -> Document:
    names = ("title", "brief", "cautions", "conditions", "sheet")
    empty = {"title": program.title, "brief": "", "cautions": [], "conditions": [], "sheet": []}
    return PracticalTask.objects.filter(program=program).values(*names).first() or empty


def _named(name: str) -> str:
    """Return a dimension's name as people read it: ``opening_width`` is ``Opening width``."""
    return name.replace("_", " ").capitalize()


def _stages(standard: Standard, unit: str) -> list[tuple[Stage, list[SheetCriterion]]]:
    return [
        (
            stage,
            [_criterion(each, unit) for each in standard.criteria if each.stage == position],
        )
        for position, stage in enumerate(standard.stages)
    ]


def _criterion(criterion: Criterion, unit: str) -> SheetCriterion:
    """Return what a criterion needs, in numbers; ``unit`` is the program's."""
    levels: list[tuple[str, bool]] = []
    how = ""
    match criterion.rule:
        case Measured() as rule:
            needed, how = _measured(rule, unit), _reading(rule)
        case Rated() as rule:
            top = len(rule.descriptions) - 1
            needed = (
                _("Level {level} of {top} or higher")
                if rule.met_from < top
                else _("Level {level} of {top}")
            ).format(level=rule.met_from, top=top)
            levels = [
                (text, level >= rule.met_from) for level, text in enumerate(rule.descriptions)
            ]
        case Checked() as rule:
            needed = _("Yes") if rule.expected else _("No")
        case Counted() as rule:
            needed = _("None") if rule.limits.upper == 0 else numbers(said(rule.limits.text(str)))
            how = _("Counted: {what}.").format(what=rule.what)
        case rule:
            needed = numbers(said(rule.limits.text(lambda base: time_text(base, rule.unit))))
            how = _("Timed.")
    return SheetCriterion(criterion, needed, how, levels)


def _measured(rule: Measured, unit: str) -> str:
    needed = numbers(said(rule.limits.text(rule.show)))
    if rule.quantity == "length" and rule.unit != unit:
        other = rule.limits.text(lambda base: base_text(base, unit))
        return f"{needed} ({numbers(said(other))})"
    return needed


def _reading(rule: Measured) -> str:
    """Return how many readings are taken, with what, and what room they must leave."""
    how = ONE_READING if rule.readings == 1 else READINGS[rule.statistic]
    sentences = [_(how).format(count=rule.readings)]
    if rule.instrument is not None:
        sentences.append(_("Read with: {name}.").format(name=rule.instrument.name))
    sure = _acceptance(rule)
    if sure is not None:
        limits = numbers(said(sure.text(rule.show)))
        sentences.append(_("Counts as met, guard band taken off: {limits}.").format(limits=limits))
    return " ".join(sentences)


def _acceptance(rule: Measured) -> Limits | None:
    """Return the limits less the guard band, drawn in to 0.01 mm or 0.0001 of another unit.

    None without a guard band, or where nothing is left between them.
    """
    if rule.guard_band_square is None:
        return None
    step = to_fraction(UNITS[rule.unit].factor) / (100 if rule.unit == "mm" else 10_000)
    accept = rule.acceptance()
    lower = None if accept.lower is None else tidy(ceil(accept.lower / step) * step)
    upper = None if accept.upper is None else tidy(floor(accept.upper / step) * step)
    if lower is not None and upper is not None and lower > upper:
        return None
    return Limits(lower, upper)
