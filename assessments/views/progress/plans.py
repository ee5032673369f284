"""The practice plan of an attempt: read it, propose one, agree, tick off."""

import uuid
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from assessments.actions.practice_plans import agree_plan, propose_plan, tick_item
from assessments.forms.practice import PlanForm, Row
from assessments.models import Attempt, Decision, PlanItem, PracticePlan
from assessments.queries.attempts import current_decision
from assessments.queries.calibration.authority import site_day
from assessments.queries.good_work import good_photo_visible_to, good_work
from assessments.queries.plans import (
    Suggested,
    answers,
    asks_for_practice,
    current_plan,
    earlier_plans,
    modules_by_outcome,
    rows_of,
    suggested,
)
from assessments.queries.scope import attempts_assessable_by, attempts_visible_to
from assessments.views.attempts import visible_attempt
from training.models import Person
from training.queries.sitelog import photo_bytes
from training.said import said
from training.views.refusals import act, act_or_say
from training.views.sent import sent
from training.views.who import person_of


@require_safe
def attempt_plan(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show the plan that counts, who has to answer, and what the result suggests."""
    person = person_of(request)
    attempt, decision = _decided(person, pk)
    plan = current_plan(attempt)
    document = attempt.standard.document
    ideas = suggested(attempt, decision)
    rows = rows_of(plan, document, site_day(attempt)) if plan else []
    shown = good_work(
        attempt,
        {idea.criterion for idea in ideas} | {row.item.criterion for row in rows},
    )
    context = {
        **_about(attempt, person),
        "decision": decision,
        "plan": plan,
        "rows": [(row, shown.get(row.item.criterion, ())) for row in rows],
        "ideas": [(idea, shown.get(idea.criterion, ())) for idea in ideas],
        "may_propose": asks_for_practice(attempt, decision),
        "answers": answers(plan, attempt, person),
        "earlier": earlier_plans(plan),
        "cautions": document.get("about", {}).get("task", {}).get("cautions", []),
    }
    return render(request, "assessments/progress/plan.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def attempt_plan_propose(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Propose a plan, from what the result suggests or from the plan that counts."""
    person = person_of(request)
    attempt, decision = _decided(person, pk)
    if not asks_for_practice(attempt, decision):
        messages.info(request, _("Nothing has to be practised after this attempt."))
        return redirect("attempt_plan", pk)
    plan = current_plan(attempt)
    items = list(plan.items.select_related("module")) if plan else []
    modules = list(
        dict.fromkeys(each for row in modules_by_outcome(attempt).values() for each in row)
    )
    form = PlanForm(
        sent(request),
        begin=[_of(item) for item in items]
        or [_from(idea) for idea in suggested(attempt, decision)],
        criteria=attempt.standard.document["criteria"],
        modules=modules,
        before=items,
        replaces=plan.pk if plan else None,
    )
    if request.method == "POST" and form.is_valid():
        made = act(
            form,
            propose_plan,
            actor=person,
            attempt=attempt,
            items=form.items(),
            note=form.cleaned_data["note"],
            replaces=_named(attempt, form.cleaned_data["replaces"]),
        )
        if made is not None:
            messages.success(request, _("Proposed. The other side is told by e-mail."))
            return redirect("attempt_plan", pk)
    context = {**_about(attempt, person), "plan": plan, "form": form}
    status = 422 if form.errors else 200
    return render(request, "assessments/progress/plan_propose.html", context, status=status)


@require_POST
def plan_agree(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Agree to a plan."""
    person = person_of(request)
    plan = get_object_or_404(_visible_plans(person), pk=pk)
    if act_or_say(request, agree_plan, actor=person, plan=plan):
        messages.success(request, _("Agreed. Tick off here what was practised."))
    return redirect("attempt_plan", plan.attempt_id)


@require_POST
def plan_item_done(request: HttpRequest, pk: int) -> HttpResponse:
    """Tick off an item, or take the tick back."""
    person = person_of(request)
    plans = _visible_plans(person).values("pk")
    item = get_object_or_404(
        PlanItem.objects.filter(plan__in=plans).select_related(
            "plan__attempt__enrolment__run__site"
        ),
        pk=pk,
    )
    act_or_say(request, tick_item, actor=person, item=item, done=request.POST.get("done") != "no")
    return redirect("attempt_plan", item.plan.attempt_id)


@require_safe
@never_cache
def attempt_example(request: HttpRequest, pk: uuid.UUID, photo: uuid.UUID) -> HttpResponse:
    """Send a photograph of good work to who may read the attempt."""
    found = good_photo_visible_to(person_of(request), pk, photo)
    content = photo_bytes(found) if found is not None else None
    if content is None:
        raise Http404("There is no such photograph.")
    response = HttpResponse(content, content_type="image/jpeg")
    response["X-Content-Type-Options"] = "nosniff"
    response["Content-Disposition"] = 'inline; filename="example.jpg"'
    return response


def _decided(person: Person, pk: uuid.UUID) -> tuple[Attempt, Decision]:
    attempt = visible_attempt(person, pk)
    decision = current_decision(attempt)
    if decision is None:
        raise Http404("There is no result yet that a plan could follow.")
    return attempt, decision


def _visible_plans(person: Person) -> Any:
    attempts = attempts_visible_to(person).order_by().values("pk")
    rows = PracticePlan.objects.filter(attempt__in=attempts)
    return rows.select_related("attempt__enrolment")


def _named(attempt: Attempt, pk: uuid.UUID | None) -> PracticePlan | None:
    """Return the plan that the page was about; of another attempt it is as good as none."""
    return attempt.practice_plans.filter(pk=pk).first() if pk else None


def _about(attempt: Attempt, person: Person) -> dict[str, Any]:
    return {
        "attempt": attempt,
        "person": attempt.enrolment.person,
        "run": attempt.enrolment.run,
        "own": attempt.enrolment.person_id == person.pk,
        "assesses": attempts_assessable_by(person).filter(pk=attempt.pk).exists(),
    }


def _of(item: PlanItem) -> Row:
    return Row(item.text, item.by_day, item.criterion, item.module, item)


def _from(idea: Suggested) -> Row:
    module = idea.modules[0] if idea.modules else None
    return Row(said(idea.sentence)[:500], idea.by_day, idea.criterion, module)
