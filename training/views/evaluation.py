"""What trainees say after a run; complaints; changes decided in a program."""

import uuid
from email.utils import parseaddr

from django import forms
from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from training.actions.changes import decide_change, finish_change
from training.actions.complaints import answer_complaint, make_complaint
from training.actions.permission import require_lead
from training.actions.reactions import give_reaction
from training.forms.evaluation import AnswerForm, ChangeForm, ComplaintForm, DoneForm, ReactionForm
from training.models import Complaint, ProgramChange
from training.queries.changes import changes_of, programs_cared_for
from training.queries.complaints import (
    answerers_of,
    complaints_visible_to,
    runs_complained_of_by,
)
from training.queries.reactions import has_answered, may_be_asked, reactions_of
from training.queries.scope import enrolments_visible_to, is_lead
from training.reaction_form import SHOWN_FROM
from training.views.refusals import act
from training.views.runs import visible_run
from training.views.sent import sent
from training.views.who import person_of

PAGE = 30


@require_http_methods(["GET", "HEAD", "POST"])
def reaction_new(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Ask a trainee about a run."""
    person = person_of(request)
    enrolment = get_object_or_404(
        enrolments_visible_to(person).select_related("run__program", "run__site"), pk=pk
    )
    if enrolment.person_id != person.pk:
        raise PermissionDenied(_("Only the trainee may answer."))
    form = ReactionForm(sent(request))
    if request.method == "POST" and form.is_valid():
        act(
            form,
            give_reaction,
            actor=person,
            enrolment=enrolment,
            ratings=form.ratings,
            texts=form.texts,
        )
        if not form.errors:
            messages.success(request, _("Thank you. Your answers are kept without your name."))
            return redirect("home")
    context = {
        "form": form,
        "enrolment": enrolment,
        "run": enrolment.run,
        "answered": has_answered(enrolment),
        "asked": may_be_asked(enrolment.run),
        "shown_from": SHOWN_FROM,
    }
    return render(request, "training/evaluation/reaction.html", context, status=_status(form))


@require_safe
def run_reactions(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show what trainees said about a run, once enough have answered."""
    run = visible_run(person_of(request), pk)
    context = {"run": run, "reactions": reactions_of(run), "shown_from": SHOWN_FROM}
    return render(request, "training/evaluation/reactions.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def complaint_new(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Make a complaint about a run."""
    person = person_of(request)
    runs = runs_complained_of_by(person).select_related("program__provider", "site")
    run = get_object_or_404(runs, pk=pk)
    form = ComplaintForm(sent(request), run=run, maker=person)
    if request.method == "POST" and form.is_valid():
        made = act(form, make_complaint, actor=person, run=run, **form.cleaned_data)
        if made is not None:
            messages.success(request, _("Your complaint is kept. Who answers it is told below."))
            return redirect("complaint", made.pk)
    context = {"form": form, "run": run}
    return render(request, "training/evaluation/complaint_new.html", context, status=_status(form))


@require_safe
def complaint_list(request: HttpRequest) -> HttpResponse:
    """Show the complaints to the own provider, and the own ones; open ones first."""
    person = person_of(request)
    page = Paginator(complaints_visible_to(person), PAGE).get_page(request.GET.get("page"))
    return render(request, "training/evaluation/complaints.html", {"page": page, "query": ""})


@require_http_methods(["GET", "HEAD", "POST"])
def complaint(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show a complaint with its answer; a lead answers here."""
    person = person_of(request)
    found = get_object_or_404(complaints_visible_to(person), pk=pk)
    leads = is_lead(person, found.provider)
    form = AnswerForm(sent(request))
    if request.method == "POST":
        require_lead(person, found.provider)
        if form.is_valid():
            answer = form.cleaned_data["answer"]
            if act(form, answer_complaint, actor=person, complaint=found, answer=answer):
                messages.success(
                    request, _("The answer is kept. Whoever complained is told by e-mail.")
                )
                return redirect("complaint", found.pk)
    context = {
        "complaint": found,
        "form": form,
        "answers": leads
        and found.made_by_id != person.pk
        and (found.state == Complaint.State.OPEN or bool(form.errors)),
        "own": found.made_by_id == person.pk,
        "answerable": answerers_of(found).exists() if found.made_by_id == person.pk else True,
        "outside": parseaddr(found.provider.outside_contact),
    }
    return render(request, "training/evaluation/complaint.html", context, status=_status(form))


@require_http_methods(["GET", "HEAD", "POST"])
def program_changes(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show the changes decided in a program; a lead adds one."""
    person = person_of(request)
    programs = programs_cared_for(person).select_related("provider")
    program = get_object_or_404(programs, pk=pk)
    form = ChangeForm(sent(request))
    if request.method == "POST":
        require_lead(person, program.provider)
        if form.is_valid():
            act(form, decide_change, actor=person, program=program, **form.cleaned_data)
            if not form.errors:
                messages.success(request, _("The change is decided. Say here when it is done."))
                return redirect("program_changes", program.pk)
    context = {
        "program": program,
        "changes": changes_of(program),
        "form": form,
        "leads": is_lead(person, program.provider),
    }
    return render(request, "training/evaluation/changes.html", context, status=_status(form))


@require_http_methods(["GET", "HEAD", "POST"])
def change_done(request: HttpRequest, pk: int) -> HttpResponse:
    """Say on which day a change was made."""
    person = person_of(request)
    changes = ProgramChange.objects.filter(program__in=programs_cared_for(person).order_by())
    change = get_object_or_404(changes.select_related("program__provider"), pk=pk)
    require_lead(person, change.program.provider)
    form = DoneForm(sent(request))
    if request.method == "POST" and form.is_valid():
        day = form.cleaned_data["done_on"]
        if act(form, finish_change, actor=person, change=change, done_on=day):
            messages.success(request, _("The change is done."))
            return redirect("program_changes", change.program_id)
    context = {"change": change, "program": change.program, "form": form}
    return render(request, "training/evaluation/change_done.html", context, status=_status(form))


def _status(form: forms.Form) -> int:
    return 422 if form.errors else 200
