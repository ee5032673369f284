"""Practice plans: the one that counts, those before it, and what a result suggests."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import QuerySet
from django.utils import timezone

from assessments.models import Attempt, Decision, PlanItem, PracticePlan
from assessments.queries.calibration.authority import site_day
from training.models import Module, Person, Session

WEEK = timedelta(days=7)


@dataclass(frozen=True)
class Suggested:
    """A change that would have helped to meet the standard: what, who teaches it, by which day.

    ``sentence`` is the engine's, ``modules`` those that teach the criterion, practice first.
    """

    criterion: str
    title: str
    sentence: str
    modules: Sequence[Module]
    by_day: date


@dataclass(frozen=True)
class PlanRow:
    """An item of a plan with the title of its criterion; ``late``: not done, and its day past."""

    item: PlanItem
    title: str
    late: bool


def current_plan(attempt: Attempt) -> PracticePlan | None:
    """Return the plan of an attempt that nothing replaces (one query)."""
    return _plans().filter(attempt=attempt, replaced_by__isnull=True).first()


def asks_for_practice(attempt: Attempt, decision: Decision) -> bool:
    """Say whether a result asks for practice: one that counts and did not meet the standard."""
    return attempt.state == Attempt.State.DECIDED and decision.result != Decision.Result.MET


def answers(plan: PracticePlan | None, attempt: Attempt, person: Person) -> bool:
    """Say whether a plan waits for the side that ``person`` is on."""
    if plan is None or plan.agreed_at is not None:
        return False
    trainee = attempt.enrolment.person_id
    return (plan.proposed_by_id == trainee) != (person.pk == trainee)


def earlier_plans(plan: PracticePlan | None) -> list[PracticePlan]:
    """Return the plans that this one came in place of, the latest first (two queries)."""
    if plan is None:
        return []
    rows = _plans().filter(attempt=plan.attempt_id, replaced_by__isnull=False)
    return list(rows.prefetch_related("items").order_by("-proposed_at", "-id"))


def rows_of(plan: PracticePlan, document: Mapping[str, Any], today: date) -> list[PlanRow]:
    """Return the items of a plan as they stand on ``today`` (one query)."""
    titles = {row["key"]: row["title"] for row in document["criteria"]}
    return [
        PlanRow(
            item,
            titles.get(item.criterion, ""),
            item.done_on is None and item.by_day < today,
        )
        for item in plan.items.select_related("module", "done_by")
    ]


def suggested(attempt: Attempt, decision: Decision) -> list[Suggested]:
    """Return what the decision says to practise, in the standard's order (three queries).

    The day is that of the next session which teaches it; without one, a week from now for the
    first, another week for each that follows.
    """
    today = site_day(attempt)
    modules = modules_by_outcome(attempt)
    sessions = next_sessions(attempt, today)
    criteria = {row["key"]: row for row in attempt.standard.document["criteria"]}
    found = []
    for place, change in enumerate(decision.document["practice"]):
        criterion = criteria[change["criterion"]]
        teaching = modules_of(criterion, modules)
        days = [sessions[module.pk] for module in teaching if module.pk in sessions]
        found.append(
            Suggested(
                criterion["key"],
                criterion["title"],
                change["sentence"].removeprefix(f"{criterion['key']}, "),
                teaching,
                min(days, default=today + WEEK * (place + 1)),
            )
        )
    return found


def modules_by_outcome(attempt: Attempt) -> dict[str, list[Module]]:
    """Return the modules that teach each outcome of the attempt's program (two queries)."""
    rows = Module.objects.filter(program=attempt.enrolment.run.program_id)
    return by_outcome(rows.prefetch_related("outcomes"))


def by_outcome(modules: Iterable[Module]) -> dict[str, list[Module]]:
    """Return the modules by the keys of the outcomes they serve, supervised practice first."""
    found: dict[str, list[Module]] = {}
    for module in sorted(modules, key=lambda each: each.kind != Module.Kind.PRACTICE):
        for outcome in module.outcomes.all():
            found.setdefault(outcome.key, []).append(module)
    return found


def modules_of(
    criterion: Mapping[str, Any], modules: Mapping[str, Sequence[Module]]
) -> list[Module]:
    """Return the modules that teach the outcomes of a criterion, each once."""
    return list(
        dict.fromkeys(each for key in criterion["outcomes"] for each in modules.get(key, ()))
    )


def next_sessions(attempt: Attempt, today: date) -> dict[int, date]:
    """Return the day of the next planned session of each module from ``today`` (one query)."""
    run = attempt.enrolment.run
    zone = ZoneInfo(run.site.time_zone)
    rows = Session.objects.filter(
        run=run, state=Session.State.PLANNED, module__isnull=False, starts_at__gt=timezone.now()
    ).order_by("starts_at")
    found: dict[int, date] = {}
    for module, starts_at in rows.values_list("module", "starts_at"):
        found.setdefault(module, max(timezone.localdate(starts_at, zone), today))
    return found


def _plans() -> "QuerySet[PracticePlan]":
    return PracticePlan.objects.select_related("proposed_by", "agreed_by")
