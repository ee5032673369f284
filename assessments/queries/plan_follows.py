"""What a practice plan waits for: on the page of a result and on the first page."""

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

from django.db.models import Count, F, Min, Q
from django.urls import reverse
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from assessments.models import Attempt, Decision, PlanItem, PracticePlan
from assessments.queries.after_result import after_result
from assessments.queries.past import Past
from assessments.queries.plans import answers, asks_for_practice, current_plan
from training.models import Person, Role
from training.queries.scope import TRAINEE
from training.queries.todo import Todo, todo_source


@after_result
def plan_after(
    attempt: Attempt, decision: Decision | None, past: Past, person: Person
) -> Mapping[str, Any]:
    """Return what the page of a result says of the plan (two queries)."""
    if decision is None or not asks_for_practice(attempt, decision):
        return {}
    plan = current_plan(attempt)
    items = list(plan.items.all()) if plan else []
    left = [item for item in items if item.done_on is None]
    return {
        "practice_asked": True,
        "practice_plan": plan,
        "practice_answers": answers(plan, attempt, person),
        "practice_done": len(items) - len(left),
        "practice_items": len(items),
        "practice_next": min((item.by_day for item in left), default=None),
    }


@todo_source
def plans_to_answer(person: Person, roles: frozenset[str]) -> Iterable[Todo]:
    """Tell a trainee and an instructor which practice plans wait for their answer (one query)."""
    mine = Q()
    if TRAINEE in roles:
        own = Q(attempt__enrolment__person=person)
        mine |= own & ~Q(proposed_by=person)
    if Role.Kind.INSTRUCTOR in roles:
        taught = Q(attempt__enrolment__run__instructors=person)
        mine |= taught & Q(proposed_by=F("attempt__enrolment__person")) & ~Q(proposed_by=person)
    if not mine:
        return
    waiting = (
        PracticePlan.objects.filter(mine, agreed_at__isnull=True, replaced_by__isnull=True)
        .filter(attempt__state=Attempt.State.DECIDED)
        .select_related("proposed_by", "attempt__enrolment__run__program")
        .order_by("proposed_at", "id")
        .distinct()
    )
    for plan in waiting:
        yield Todo(
            _("{person} proposes a practice plan").format(person=plan.proposed_by.full_name),
            plan.attempt.enrolment.run.program.title,
            reverse("attempt_plan", args=[plan.attempt_id]),
            _("Read and answer"),
        )


@todo_source
def things_to_practise(person: Person, roles: frozenset[str]) -> Iterable[Todo]:
    """Tell a trainee what agreed plans leave to be practised, and by when (one query)."""
    if TRAINEE not in roles:
        return
    rows = (
        PlanItem.objects.filter(
            plan__attempt__enrolment__person=person,
            plan__attempt__state=Attempt.State.DECIDED,
            plan__agreed_at__isnull=False,
            plan__replaced_by__isnull=True,
            done_on__isnull=True,
        )
        .order_by()
        .values_list("plan__attempt", "plan__attempt__enrolment__run__program__title")
        .annotate(left=Count("id"), first=Min("by_day"))
        .order_by("first")
    )
    for attempt, program, left, first in rows:
        yield Todo(
            ngettext("{count} thing to practise", "{count} things to practise", left).format(
                count=left
            ),
            _("{program}. The next by {day}.").format(program=program, day=_day(first)),
            reverse("attempt_plan", args=[attempt]),
            _("See the plan"),
        )


def _day(day: date) -> str:
    return date_format(day, "j M Y")
