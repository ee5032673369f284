"""A program's rows as one plain document, in the form of a program file."""

from fractions import Fraction
from typing import Any

from django.db.models import Prefetch, QuerySet
from django.utils.translation import gettext as _

from assessments.models import (
    Criterion,
    CriterionOutcome,
    PassRule,
    PracticalTask,
    QualificationRules,
    SecondLookRules,
    Stage,
)
from assessments.programfile.schema import FORMAT
from training.errors import Refused
from training.models import Module, Outcome, Program, ProgramPrerequisite

_MINUTES = {"s": Fraction(1, 60), "min": Fraction(1), "h": Fraction(60), "d": Fraction(1440)}


def with_task(programs: QuerySet[Program]) -> QuerySet[Program]:
    """Return ``programs`` with all that ``program_document`` reads (eight queries)."""
    serves = CriterionOutcome.objects.select_related("outcome").order_by("outcome__position")
    criteria = Criterion.objects.select_related("stage").prefetch_related(
        Prefetch("serves", serves)
    )
    return programs.select_related(
        "provider", "pass_rule", "qualification_rules", "second_look_rules", "task"
    ).prefetch_related(
        Prefetch("modules", Module.objects.prefetch_related("outcomes")),
        "outcomes",
        "prerequisites",
        Prefetch("task__stages", Stage.objects.order_by("position")),
        Prefetch("task__criteria", criteria),
    )


def program_document(program: Program) -> dict[str, Any]:
    """Return the program as a program file holds it; raise Refused if it has no task or rule."""
    whole = with_task(Program.objects.filter(pk=program.pk)).get()
    try:
        task, rule = whole.task, whole.pass_rule
    except (PracticalTask.DoesNotExist, PassRule.DoesNotExist):
        raise Refused(
            _(
                "{whole} has no practical task or no pass rule yet: write them in its program file "
                "and load that."
            ).format(whole=whole)
        ) from None
    return {
        "format": FORMAT,
        "code": whole.code,
        "version": whole.version,
        "changes": whole.changes,
        "title": whole.title,
        "needs": whole.needs,
        "purpose": whole.purpose,
        "scope": whole.scope,
        "validity_months": whole.validity_months,
        "unit": whole.unit,
        "prerequisites": [_prerequisite(each) for each in whole.prerequisites.all()],
        "modules": [_module(module) for module in whole.modules.all()],
        "outcomes": [_outcome(outcome) for outcome in whole.outcomes.all()],
        "task": _task(task),
        "pass_rule": rule.document,
        "qualification": _qualification(whole),
        **_second_look(whole),
    }


def _qualification(program: Program) -> dict[str, Any] | None:
    try:
        return dict(program.qualification_rules.document)
    except QualificationRules.DoesNotExist:
        return None


def _second_look(program: Program) -> dict[str, Any]:
    try:
        rules = program.second_look_rules
    except SecondLookRules.DoesNotExist:
        return {"retake": None, "review": None}
    return {"retake": rules.retake, "review": rules.review}


def _prerequisite(prerequisite: ProgramPrerequisite) -> dict[str, Any]:
    return {
        "key": prerequisite.key,
        "title": prerequisite.title,
        "for": prerequisite.applies,
        "accepts": prerequisite.accepts,
        "source": prerequisite.source,
    }


def _module(module: Module) -> dict[str, Any]:
    return {
        "key": module.key,
        "title": module.title,
        "kind": module.kind,
        "minutes": module.minutes,
        "teaches": [outcome.key for outcome in module.outcomes.all()],
        "content": module.content,
    }


def _outcome(outcome: Outcome) -> dict[str, Any]:
    return {
        "key": outcome.key,
        "statement": outcome.statement,
        "minimum": outcome.minimum or None,
    }


def _task(task: PracticalTask) -> dict[str, Any]:
    return {
        "title": task.title,
        "brief": task.brief,
        "cautions": task.cautions,
        "conditions": task.conditions,
        "dimensions": task.dimensions,
        "sheet": task.sheet,
        "stages": [
            {"key": stage.key, "title": stage.title, "hold_point": stage.hold_point}
            for stage in task.stages.all()
        ],
        "criteria": [_criterion(criterion) for criterion in task.criteria.all()],
    }


def _criterion(criterion: Criterion) -> dict[str, Any]:
    document = {
        "key": criterion.key,
        "title": criterion.title,
        "stage": criterion.stage.key,
        "kind": criterion.kind,
        "critical": criterion.critical,
        "not_applicable": criterion.not_applicable,
        "weight": criterion.weight,
        "serves": {each.outcome.key: each.weight for each in criterion.serves.all()},
        "guidance": criterion.guidance,
        **criterion.definition,
    }
    return _in_minutes(document) if criterion.kind == Criterion.Kind.TIMED else document


def _in_minutes(document: dict[str, Any]) -> dict[str, Any]:
    """Return a timed criterion with its limits in minutes, as a program file holds them."""
    minutes = _MINUTES[document.pop("unit", "min")]
    document["limits"] = {
        end: value and str(Fraction(value) * minutes) for end, value in document["limits"].items()
    }
    return document
