"""The lead's desk of a panel, from opening it to the end of the judging."""

import uuid
from collections.abc import Callable
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from assessments.actions.panel.judges import invite_judge, make_judge_link, stand_down
from assessments.actions.panel.preparing import abandon_panel, change_panel, open_panel
from assessments.actions.panel.rounds import close_round, end_judging, open_round
from assessments.forms.panel.lead import CloseRoundForm, InviteForm, PanelForm, ReasonForm
from assessments.models import Judge, JudgingRound, Panel
from assessments.queries.panel.desk import Desk, desk_of
from assessments.queries.panel.scope import panels_visible_to
from assessments.queries.program_document import program_document
from assessments.queries.scope import drafts_visible_to
from training.actions.permission import require_lead
from training.errors import Refused
from training.models import Person
from training.views.refusals import act, act_or_say
from training.views.sent import sent
from training.views.who import person_of


@require_http_methods(["GET", "HEAD", "POST"])
def panel_new(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Open a panel on a program."""
    person = person_of(request)
    program = get_object_or_404(drafts_visible_to(person).select_related("provider"), pk=pk)
    require_lead(person, program.provider)
    form = PanelForm(sent(request), program=program)
    if request.method == "POST" and form.is_valid():
        panel = act(form, open_panel, actor=person, program=program, **form.cleaned_data)
        if panel is not None:
            messages.success(
                request,
                _("Panel {number} is open. Invite its judges next.").format(number=panel.number),
            )
            return redirect("panel", panel.pk)
    context: dict[str, Any] = {"program": program, "form": form}
    try:
        program_document(program)
    except Refused as refused:
        context["refused"] = refused.message
    return render(request, "assessments/panel/new.html", context, status=_status(form))


@require_safe
def panel(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show the desk."""
    found = _visible(person_of(request), pk)
    return _desk_page(request, found)


@require_http_methods(["GET", "HEAD", "POST"])
def panel_change(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Change a panel that is still prepared."""
    person = person_of(request)
    found = _visible(person, pk)
    initial = {
        "method": found.method,
        "statistic": found.statistic,
        "just_meets": found.just_meets,
        "sense_check": found.sense_check,
        "sources": found.sources.all(),
    }
    form = PanelForm(sent(request), program=found.program, initial=initial)

    def change(**cleaned: Any) -> Panel:
        return change_panel(actor=person, panel=found, **cleaned)

    return _form_page(request, found, form, change, "change", _("The panel is changed."))


@require_http_methods(["GET", "HEAD", "POST"])
def panel_invite(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Invite a judge."""
    person = person_of(request)
    found = _visible(person, pk)
    form = InviteForm(sent(request))

    def invite(**cleaned: Any) -> Judge:
        return invite_judge(actor=person, panel=found, **cleaned)

    done = _("The judge is invited and told by e-mail.")
    return _form_page(request, found, form, invite, "invite", done)


@require_POST
@never_cache
def panel_judge_link(request: HttpRequest, pk: uuid.UUID, judge: int) -> HttpResponse:
    """Make a link by which a new judge sets a password, and show it this once."""
    person = person_of(request)
    found = _visible(person, pk)
    seat = get_object_or_404(_judges(found), pk=judge)
    parts = act_or_say(request, make_judge_link, actor=person, judge=seat)
    if parts is None:
        return redirect("panel", found.pk)
    link = request.build_absolute_uri(reverse("set_password", kwargs=parts))
    return _desk_page(request, found, link=link, link_for=seat.person)


@require_http_methods(["GET", "HEAD", "POST"])
def panel_stand_down(request: HttpRequest, pk: uuid.UUID, judge: int) -> HttpResponse:
    """Have a judge leave the panel."""
    person = person_of(request)
    found = _visible(person, pk)
    seat = get_object_or_404(_judges(found), pk=judge)
    form = ReasonForm(sent(request))

    def leave(**cleaned: Any) -> Judge:
        return stand_down(actor=person, judge=seat, **cleaned)

    done = _("{person} has stood down.").format(person=seat.person)
    return _form_page(request, found, form, leave, "stand_down", done, judge=seat)


@require_POST
def panel_open_round(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Open the next round."""
    person = person_of(request)
    opened = act_or_say(request, open_round, actor=person, panel=_visible(person, pk))
    if opened is not None:
        name = (
            _("The training round")
            if opened.number == 0
            else _("Round {number}").format(number=opened.number)
        )
        messages.success(
            request, _("{name} is open: the judges enter their estimates.").format(name=name)
        )
    return redirect("panel", pk)


@require_http_methods(["GET", "HEAD", "POST"])
def panel_close_round(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Close the open round."""
    person = person_of(request)
    found = _visible(person, pk)
    opened = found.rounds.filter(state=JudgingRound.State.OPEN).first()
    if opened is None:
        messages.info(request, _("No round is open."))
        return redirect("panel", found.pk)
    form = CloseRoundForm(sent(request))

    def close(**cleaned: Any) -> JudgingRound:
        return close_round(actor=person, round=opened, **cleaned)

    done = _("The round is closed: everybody sees the estimates by letter.")
    desk = desk_of(found)
    return _form_page(request, found, form, close, "close_round", done, desk=desk, round=opened)


@require_POST
def panel_end(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """End the judging."""
    person = person_of(request)
    if act_or_say(request, end_judging, actor=person, panel=_visible(person, pk)):
        messages.success(request, _("The judging has ended. Next comes the recommendation."))
    return redirect("panel", pk)


@require_http_methods(["GET", "HEAD", "POST"])
def panel_abandon(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """End a panel without a recommendation."""
    person = person_of(request)
    found = _visible(person, pk)
    form = ReasonForm(sent(request))

    def abandon(**cleaned: Any) -> Panel:
        return abandon_panel(actor=person, panel=found, **cleaned)

    return _form_page(request, found, form, abandon, "abandon", _("The panel is abandoned."))


def _visible(person: Person, pk: uuid.UUID) -> Panel:
    panels = panels_visible_to(person).select_related("program__provider", "made_by")
    return get_object_or_404(panels, pk=pk)


def _judges(panel: Panel) -> Any:
    return panel.judges.select_related("person", "panel__program__provider")


def _desk_page(request: HttpRequest, found: Panel, **context: Any) -> HttpResponse:
    desk: Desk = desk_of(found)
    return render(
        request,
        "assessments/panel/desk.html",
        {"panel": found, "program": found.program, "desk": desk, **context},
    )


def _form_page(
    request: HttpRequest,
    found: Panel,
    form: forms.Form,
    action: Callable[..., Any],
    template: str,
    done: str,
    **context: Any,
) -> HttpResponse:
    """Show a form of the panel; once its action is done, go back to the desk and say so."""
    if request.method == "POST" and form.is_valid():
        act(form, action, **form.cleaned_data)
        if not form.errors:
            messages.success(request, done)
            return redirect("panel", found.pk)
    return render(
        request,
        f"assessments/panel/{template}.html",
        {"panel": found, "program": found.program, "form": form, **context},
        status=_status(form),
    )


def _status(form: forms.Form) -> int:
    return 422 if form.errors else 200
