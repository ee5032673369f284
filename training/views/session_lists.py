"""Planning several sessions at once: copies on other days, and a proposal for the whole run."""

import uuid

from django.contrib import messages
from django.forms import BaseFormSet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from training.actions.sessions import Plan, RowRefused, add_sessions
from training.errors import Refused
from training.forms.propose import ProposedForm, ProposedFormSet, ProposeForm
from training.forms.sessions import Choices, CopyForm, choices_of, refused_copy
from training.models import CourseRun, Person
from training.queries.calendar import is_published
from training.views.refusals import act, show
from training.views.sent import sent
from training.views.sessions import led_run, led_session
from training.views.who import person_of

NOTHING_LEFT = N_("Every session is left out: keep at least one, or go back.")


@require_http_methods(["GET", "HEAD", "POST"])
def session_copy(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Hold a session on other days, too."""
    person, session = led_session(request, pk)
    run = session.run
    form = CopyForm(sent(request), session=session)
    if request.method == "POST" and form.is_valid():
        made = act(form, lambda: _copies(person, run, form))
        if made is not None:
            messages.success(request, _planned(made))
            return redirect("run_calendar", run.pk)
    return render(
        request,
        "training/calendar/session_copy.html",
        {"form": form, "run": run, "session": session, "zone": run.site.time_zone},
        status=422 if form.errors else 200,
    )


@require_http_methods(["GET", "HEAD", "POST"])
def sessions_propose(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Ask for days and hours, then show what would be planned; save it when that is sent."""
    _unused, run = led_run(request, pk)
    choices = choices_of(run)
    if "form-TOTAL_FORMS" in request.POST:
        return _save(request, run, choices)
    form = ProposeForm(sent(request), choices=choices)
    if request.method == "POST" and form.is_valid():
        rows = act(form, form.rows)
        if rows is not None:
            formset = ProposedFormSet(initial=rows, form_kwargs={"choices": choices})
            return _proposal(request, run, formset)
    return render(
        request,
        "training/calendar/propose.html",
        {"form": form, "run": run, "modules": choices.modules},
        status=422 if form.errors else 200,
    )


def _save(request: HttpRequest, run: CourseRun, choices: Choices) -> HttpResponse:
    formset = ProposedFormSet(request.POST, form_kwargs={"choices": choices})
    if not formset.is_valid():
        return _proposal(request, run, formset, status=422)
    kept = [form for form in formset.forms if not form.cleaned_data["leave_out"]]
    if not kept:
        return _proposal(request, run, formset, status=422, refused=_(NOTHING_LEFT))
    plans: list[Plan] = []
    for form in kept:
        plan = act(form, form.plan)
        if plan is not None:
            plans.append(plan)
    if len(plans) < len(kept):
        return _proposal(request, run, formset, status=422)
    try:
        made = add_sessions(actor=person_of(request), run=run, plans=plans)
    except RowRefused as refused:
        show(kept[refused.row], refused)
        return _proposal(request, run, formset, status=422)
    except Refused as refused:
        return _proposal(request, run, formset, status=422, refused=refused.message)
    messages.success(request, _planned(len(made)))
    return redirect("run_calendar", run.pk)


def _proposal(
    request: HttpRequest,
    run: CourseRun,
    formset: BaseFormSet[ProposedForm],
    *,
    status: int = 200,
    refused: str = "",
) -> HttpResponse:
    faulty = sum(bool(form.errors) for form in formset.forms) if formset.is_bound else 0
    return render(
        request,
        "training/calendar/proposal.html",
        {
            "formset": formset,
            "run": run,
            "faulty": faulty,
            "refused": refused,
            "published": is_published(run),
        },
        status=status,
    )


def _copies(person: Person, run: CourseRun, form: CopyForm) -> int:
    try:
        return len(add_sessions(actor=person, run=run, plans=form.plans()))
    except RowRefused as refused:
        raise refused_copy(form, refused.row, refused) from refused


def _planned(number: int) -> str:
    return ngettext("1 session is planned.", "{count} sessions are planned.", number).format(
        count=number
    )
