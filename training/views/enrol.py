"""Enrolling one person or a list, and withdrawing."""

import uuid

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST

from training.actions.enrolfile import FileRefused, FileResult, enrol_file
from training.actions.enrolments import enrol_person, withdraw_enrolment
from training.actions.permission import require_lead
from training.errors import Refused
from training.forms.enrol import EnrolFileForm, EnrolForm
from training.models import CourseRun, Enrolment, Person
from training.queries.scope import enrolments_visible_to
from training.views.paper_warnings import warn_of_enrolled, warn_of_list
from training.views.refusals import act, act_or_say, show
from training.views.runs import visible_run
from training.views.sent import sent
from training.views.who import person_of


@require_http_methods(["GET", "HEAD", "POST"])
def run_enrol(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Enrol one person."""
    person, run = _led_run(request, pk)
    form = EnrolForm(sent(request))
    if request.method == "POST" and form.is_valid():
        enrolment = act(form, enrol_person, actor=person, run=run, **form.cleaned_data)
        if enrolment is not None:
            messages.success(request, _enrolled_one(enrolment))
            warn_of_enrolled(request, enrolment)
            return redirect("run", run.pk)
    return render(
        request,
        "training/run_enrol.html",
        {"form": form, "run": run},
        status=422 if form.errors else 200,
    )


@require_http_methods(["GET", "HEAD", "POST"])
def run_enrol_file(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Enrol a list; with faults, show them all above the list to correct."""
    person, run = _led_run(request, pk)
    form = EnrolFileForm(sent(request), request.FILES or None)
    context: dict[str, object] = {"run": run, "form": form}
    status = 200
    if request.method == "POST":
        status = 422
        if form.is_valid():
            result = _try(person, run, form, context)
            if result and not result.rest:
                messages.success(request, _enrolled(result))
                warn_of_list(request, run)
                return redirect("run", run.pk)
            if result:
                messages.success(request, _enrolled(result))
                warn_of_list(request, run)
                context |= {
                    "form": form.shown_again(result.rest),
                    "faults": result.faults,
                    "good": 0,
                }
                status = 200
    return render(request, "training/run_enrol_file.html", context, status=status)


@require_POST
def run_withdraw(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Take somebody off a run."""
    person = person_of(request)
    enrolments = enrolments_visible_to(person).select_related("run__program__provider", "person")
    enrolment = get_object_or_404(enrolments, pk=pk)
    if act_or_say(request, withdraw_enrolment, actor=person, enrolment=enrolment):
        messages.success(
            request, _("{person} is withdrawn from this run.").format(person=enrolment.person)
        )
    return redirect("run", enrolment.run_id)


def _led_run(request: HttpRequest, pk: uuid.UUID) -> tuple[Person, CourseRun]:
    person = person_of(request)
    run = visible_run(person, pk)
    require_lead(person, run.program.provider)
    return person, run


def _try(
    person: Person, run: CourseRun, form: EnrolFileForm, context: dict[str, object]
) -> FileResult | None:
    """Enrol, or leave in ``context`` what the page needs to have the list corrected."""
    text = form.cleaned_data["text"]
    if form.guessed:
        context |= {"form": form.shown_again(text), "guessed": form.guessed}
        return None
    try:
        return enrol_file(
            actor=person, run=run, text=text, good_only=form.cleaned_data["good_only"]
        )
    except FileRefused as refused:
        context |= {
            "form": form.shown_again(text),
            "faults": refused.faults,
            "good": refused.good,
            "refused": refused.message,
        }
    except Refused as refused:
        again = EnrolFileForm({"text": text})
        again.full_clean()
        show(again, refused)
        context["form"] = again
    return None


def _enrolled_one(enrolment: Enrolment) -> str:
    if enrolment.state == Enrolment.State.WAITING:
        return _("Every place is taken: {person} is on the waiting list.").format(
            person=enrolment.person
        )
    return _("{person} is enrolled.").format(person=enrolment.person)


def _enrolled(result: FileResult) -> str:
    said = ngettext(
        "{count} person is enrolled.", "{count} people are enrolled.", result.enrolled
    ).format(count=result.enrolled)
    if not result.waiting:
        return said
    waiting = ngettext(
        "{count} person is on the waiting list: every place is taken.",
        "{count} people are on the waiting list: every place is taken.",
        result.waiting,
    ).format(count=result.waiting)
    return f"{said} {waiting}"
