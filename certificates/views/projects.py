"""The list of projects; one project with its posts; making, changing and copying one."""

import uuid
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.core import signing
from django.core.exceptions import PermissionDenied
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from certificates.actions.projects import (
    ChangedMeanwhile,
    change_project,
    copy_project,
    create_project,
)
from certificates.actions.projects.permission import keeps
from certificates.actions.projects.projects import project_document
from certificates.forms.projects import (
    ProjectChangeForm,
    ProjectCopyForm,
    ProjectFilter,
    ProjectForm,
)
from certificates.models import Project
from certificates.queries.crew_scope import projects_visible_to
from certificates.queries.projects import phase_of, post_rows, project_rows, today_at
from training.errors import Refused
from training.models import Person
from training.queries.scope import contractor_organisations, owner_organisations
from training.views.refusals import act, show
from training.views.sent import sent
from training.views.who import person_of

PAGE = 30
SALT = "certificates.projects.seen"


def visible_project(person: Person, pk: uuid.UUID) -> Project:
    """Return the project with its firms, or raise Http404 when it is not visible."""
    projects = projects_visible_to(person).select_related("contractor", "owner", "copied_from")
    return get_object_or_404(projects, pk=pk)


def seal(document: dict[str, Any]) -> str:
    """Return the state of something as shown, signed, for a hidden field."""
    return signing.dumps(document, salt=SALT)


def unsealed(text: str) -> dict[str, Any]:
    """Return the state that ``seal`` gave out; empty for anything else, which is never current."""
    try:
        found = signing.loads(text, salt=SALT)
    except signing.BadSignature:
        return {}
    return found if isinstance(found, dict) else {}


@require_safe
@never_cache
def project_list(request: HttpRequest) -> HttpResponse:
    """Show the visible projects."""
    person = person_of(request)
    form = ProjectFilter(request.GET or None)
    asked = form.cleaned_data if form.is_valid() else {"text": "", "phase": ""}
    page = Paginator(project_rows(person, **asked), PAGE).get_page(request.GET.get("page"))
    rows = [(project, phase_of(project)) for project in page.object_list]
    query = urlencode({name: value for name, value in asked.items() if value})
    return render(
        request,
        "certificates/crew/projects/list.html",
        {
            "form": form,
            "page": page,
            "rows": rows,
            "filtered": bool(query),
            "query": f"&{query}" if query else "",
            "may_make": _may_make(person),
        },
        status=422 if form.errors else 200,
    )


@require_safe
@never_cache
def project_page(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show a project and its posts."""
    person = person_of(request)
    project = visible_project(person, pk)
    rows = post_rows(project)
    return render(
        request,
        "certificates/crew/projects/project.html",
        {
            "project": project,
            "rows": rows,
            "phase": phase_of(project),
            "today": today_at(project),
            "places": sum(row.post.places for row in rows),
            "leads": sum(row.post.leads for row in rows),
            "keeps": keeps(person, project.contractor),
        },
    )


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def project_new(request: HttpRequest) -> HttpResponse:
    """Make a project."""
    person = person_of(request)
    if not _may_make(person):
        raise PermissionDenied(
            _("Only a contractor's manager or an owner's representative makes a project.")
        )
    form = ProjectForm(sent(request), person=person, default_zone=settings.TIME_ZONE)
    if request.method == "POST" and form.is_valid():
        project = act(form, create_project, actor=person, **form.cleaned_data)
        if project is not None:
            messages.success(request, _("The project is made. Describe its posts next."))
            return redirect("project", project.pk)
    return _form_page(request, form, {"title": _("New project"), "submit": _("Make the project")})


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def project_edit(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Change a project; whoever was slower learns what is different now."""
    person = person_of(request)
    project = visible_project(person, pk)
    document = project_document(project)
    form = ProjectChangeForm(
        sent(request),
        project=project,
        person=person,
        default_zone=project.time_zone,
        initial={**document, "starts_on": project.starts_on, "ends_on": project.ends_on},
    )
    context: dict[str, Any] = {
        "title": _("Change the project"),
        "submit": _("Save the project"),
        "project": project,
        "seen": request.POST.get("seen", "") if request.method == "POST" else seal(document),
    }
    if request.method == "POST" and form.is_valid():
        try:
            change_project(
                actor=person, project=project, seen=unsealed(context["seen"]), **form.cleaned_data
            )
        except ChangedMeanwhile as changed:
            show(form, changed)
            context |= {"seen": seal(changed.now), "differences": changed.differences}
        except Refused as refused:
            show(form, refused)
        else:
            messages.success(request, _("The project is saved."))
            return redirect("project", project.pk)
    return _form_page(request, form, context)


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def project_copy(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Make a project from an earlier one."""
    person = person_of(request)
    project = visible_project(person, pk)
    form = ProjectCopyForm(
        sent(request),
        project=project,
        person=person,
        default_zone=project.time_zone,
        initial={
            "place": project.place,
            "owner": project.owner_id,
            "time_zone": project.time_zone,
        },
    )
    if request.method == "POST" and form.is_valid():
        copy = act(form, copy_project, actor=person, project=project, **form.cleaned_data)
        if copy is not None:
            messages.success(
                request,
                _(
                    "The project is made, with the posts of {project} on later or earlier days."
                ).format(project=project),
            )
            return redirect("project", copy.pk)
    return _form_page(
        request,
        form,
        {
            "title": _("Copy the project"),
            "submit": _("Make the copy"),
            "project": project,
            "copies": True,
        },
    )


def _form_page(request: HttpRequest, form: ProjectForm, context: dict[str, Any]) -> HttpResponse:
    return render(
        request,
        "certificates/crew/projects/form.html",
        {**context, "form": form},
        status=422 if form.errors else 200,
    )


def _may_make(person: Person) -> bool:
    return contractor_organisations(person).exists() or owner_organisations(person).exists()
