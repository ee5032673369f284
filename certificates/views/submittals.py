"""A project's submittals: what would be signed now, signing it, and what was signed before."""

import uuid
from io import BytesIO
from typing import Any
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import FileResponse, HttpRequest, HttpResponse, StreamingHttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from certificates.actions.submittals import CoverageChanged, submit
from certificates.forms.submittals import LinkForm, SubmitForm
from certificates.models import Project, Submittal
from certificates.queries.crew_scope import projects_kept_by, projects_visible_to
from certificates.queries.submittals import (
    cannot_submit,
    links_of,
    statement_now,
    submittals_of,
)
from certificates.stored import NotAsIssued
from certificates.submittal.archive import archive
from certificates.submittal.facts import shown as posts_shown
from certificates.submittal.facts import summary
from certificates.submittal.stored import read_as_submitted
from training.errors import Refused
from training.models import Person
from training.said import said
from training.views.refusals import show
from training.views.who import person_of


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def submittals(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show what was submitted; whoever keeps the project also sees what would be, and signs it."""
    person = person_of(request)
    project = visible_project(person, pk)
    keeps = projects_kept_by(person).filter(pk=pk).exists()
    if request.method == "POST":
        if not keeps:
            raise PermissionDenied(_("Only a manager of the contractor submits for a project."))
        return _submit(request, person, project)
    return submittals_page(request, project, keeps=keeps)


def _submit(request: HttpRequest, person: Person, project: Project) -> HttpResponse:
    if why := cannot_submit(project):
        messages.error(request, why)
        return redirect("submittals", project.pk)
    statement = statement_now(project)
    form = SubmitForm(request.POST, gaps=statement.gaps, seen=statement.seen)
    changed = request.POST.get("seen") != statement.seen
    if not changed and form.is_valid():
        seen = form.cleaned_data["seen"]
        try:
            made = submit(actor=person, project=project, seen=seen, met_by=form.met_by)
        except CoverageChanged:
            changed = True
        except Refused as refused:
            show(form, refused)
        else:
            messages.success(
                request, _("Submittal {number} is signed and submitted.").format(number=made.number)
            )
            return redirect("submittals", project.pk)
    if changed:
        statement = statement_now(project)
        form = form.anew(statement.gaps, statement.seen)
    status = 409 if changed else 422
    return submittals_page(
        request, project, status=status, statement=statement, form=form, changed=changed
    )


def submittals_page(
    request: HttpRequest,
    project: Project,
    *,
    keeps: bool = True,
    status: int = 200,
    **context: Any,
) -> HttpResponse:
    """Return the page; ``context`` replaces what it would show of its own."""
    why = cannot_submit(project)
    shown: dict[str, Any] = {
        "project": project,
        "keeps": keeps,
        "submittals": list(submittals_of(project)),
        "zone": project.time_zone,
        "why_not": why,
    }
    if keeps:
        shown |= {"links": list(links_of(project)), "link_form": LinkForm(), "now": timezone.now()}
        if not why and "statement" not in context:
            statement = statement_now(project)
            form = SubmitForm(gaps=statement.gaps, seen=statement.seen)
            context |= {"statement": statement, "form": form}
        if "statement" in context:
            document = context["statement"].document
            shown |= {"summary": said(summary(document)), "posts": posts_shown(document)}
    with timezone.override(ZoneInfo(project.time_zone)):
        return render(
            request,
            "certificates/crew/submittals/submittals.html",
            {**shown, **context},
            status=status,
        )


@require_safe
@never_cache
def submittal_pdf(request: HttpRequest, pk: uuid.UUID) -> HttpResponseBase:
    """Send the signed PDF of a submittal."""
    return pdf_of(_visible(request, pk))


@require_safe
@never_cache
def submittal_zip(request: HttpRequest, pk: uuid.UUID) -> HttpResponseBase:
    """Send the archive of a submittal, also of records whose holders have left the contractor."""
    return zip_of(_visible(request, pk))


def visible_project(person: Person, pk: uuid.UUID) -> Project:
    """Return the project if the person may see it; Http404 else."""
    projects = projects_visible_to(person).select_related("contractor", "owner")
    return get_object_or_404(projects, pk=pk)


def _visible(request: HttpRequest, pk: uuid.UUID) -> Submittal:
    rows = Submittal.objects.select_related("project__contractor").defer("document")
    visible = projects_visible_to(person_of(request)).order_by()
    return get_object_or_404(rows.filter(project__in=visible), pk=pk)


def pdf_of(submittal: Submittal) -> HttpResponseBase:
    """Return the signed PDF as a download, or a page's worth of text that says why not."""
    try:
        pdf = read_as_submitted(submittal)
    except NotAsIssued as missing:
        return HttpResponse(
            _("{missing} Ask the contractor, or whoever runs this server.").format(
                missing=said(str(missing))
            )
            + "\n",
            status=503,
            content_type="text/plain; charset=utf-8",
        )
    return FileResponse(
        BytesIO(pdf),
        as_attachment=True,
        filename=f"submittal-{submittal.number}.pdf",
        content_type="application/pdf",
    )


def zip_of(submittal: Submittal) -> HttpResponseBase:
    """Return the archive as a download that is made while it is sent."""
    response = StreamingHttpResponse(
        archive(submittal, now=timezone.now()), content_type="application/zip"
    )
    name = f"submittal-{submittal.number}.zip"
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    return response
