"""The list of runs; planning one, its site and who teaches it; opening and closing it."""

import uuid

from django.conf import settings
from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from training.actions.people import require_any_lead
from training.actions.permission import require_lead
from training.actions.runs import add_instructor, close_run, create_run, open_run
from training.actions.sites import add_site
from training.forms.runs import InstructorForm, RunForm, SiteForm
from training.models import CourseRun, Person, Role
from training.queries.runs import run_rows
from training.queries.scope import roles_of, runs_visible_to
from training.views.paper_warnings import warn_of_teachers
from training.views.refusals import act, act_or_say
from training.views.sent import sent
from training.views.who import person_of

PAGE = 30


def visible_run(person: Person, pk: uuid.UUID) -> CourseRun:
    """Return the run with its program and site, or raise Http404 when it is not visible."""
    runs = runs_visible_to(person).select_related("program__provider", "site")
    return get_object_or_404(runs, pk=pk)


@require_safe
def run_list(request: HttpRequest) -> HttpResponse:
    """Show the visible runs, of one state if asked."""
    person = person_of(request)
    state = request.GET.get("state", "")
    state = state if state in CourseRun.State.values else ""
    page = Paginator(run_rows(person, state), PAGE).get_page(request.GET.get("page"))
    return render(
        request,
        "training/run_list.html",
        {
            "page": page,
            "state": state,
            "states": CourseRun.State.choices,
            "query": f"&state={state}" if state else "",
            "leads": Role.Kind.LEAD in roles_of(person),
        },
    )


@require_http_methods(["GET", "HEAD", "POST"])
def run_new(request: HttpRequest) -> HttpResponse:
    """Plan a run."""
    person = person_of(request)
    require_any_lead(person)
    form = RunForm(
        sent(request),
        lead=person,
        initial={name: request.GET[name] for name in ("program", "site") if name in request.GET},
    )
    if request.method == "POST" and form.is_valid():
        run = act(form, create_run, actor=person, **form.cleaned_data)
        if run is not None:
            messages.success(request, _("The run is planned. Enrol its trainees next."))
            warn_of_teachers(request, run, form.cleaned_data["instructors"])
            return redirect("run_enrol_file", run.pk)
    return render(request, "training/run_new.html", {"form": form}, status=_status(form))


@require_http_methods(["GET", "HEAD", "POST"])
def site_new(request: HttpRequest) -> HttpResponse:
    """Add a site."""
    person = person_of(request)
    require_any_lead(person)
    form = SiteForm(sent(request), lead=person, default_zone=settings.TIME_ZONE)
    if request.method == "POST" and form.is_valid():
        site = act(form, add_site, actor=person, **form.cleaned_data)
        if site is not None:
            messages.success(request, _("{site} is added.").format(site=site))
            response = redirect("run_new")
            response["Location"] += f"?site={site.pk}"
            return response
    return render(request, "training/site_new.html", {"form": form}, status=_status(form))


@require_http_methods(["GET", "HEAD", "POST"])
def run_instructor(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Add an instructor to a run."""
    person = person_of(request)
    run = visible_run(person, pk)
    require_lead(person, run.program.provider)
    form = InstructorForm(sent(request), run=run)
    if request.method == "POST" and form.is_valid():
        teacher = form.cleaned_data["person"]
        act(form, add_instructor, actor=person, run=run, person=teacher)
        if not form.errors:
            messages.success(request, _("{teacher} teaches this run.").format(teacher=teacher))
            warn_of_teachers(request, run, [teacher])
            return redirect("run", run.pk)
    return render(
        request, "training/run_instructor.html", {"form": form, "run": run}, status=_status(form)
    )


@require_POST
def run_open(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Open a run."""
    person = person_of(request)
    if act_or_say(request, open_run, actor=person, run=visible_run(person, pk)):
        messages.success(request, _("The run is open: attempts can be started."))
    return redirect("run", pk)


@require_POST
def run_close(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Close a run."""
    person = person_of(request)
    if act_or_say(request, close_run, actor=person, run=visible_run(person, pk)):
        messages.success(request, _("The run is closed. It can be opened again."))
    return redirect("run", pk)


def _status(form: RunForm | SiteForm | InstructorForm) -> int:
    return 422 if form.errors else 200
