"""Whether a project's posts can be filled: the page and its file, for the contractor's manager."""

from datetime import date
from urllib.parse import urlencode
from uuid import UUID

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from assessments.exports import tables_csv
from certificates.forms.coverage import CoverageForm
from certificates.models import Project
from certificates.queries.coverage_table import stays_table
from certificates.queries.crew_days import today_at
from certificates.queries.crew_scope import projects_kept_by, projects_visible_to
from certificates.queries.project_coverage import ProjectCoverage, coverage_of
from certificates.views.coverage_context import coverage_context, day_context
from certificates.wording import day as written
from training.views.who import person_of


@require_safe
@never_cache
def project_coverage(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Show whether every post can be filled on every day, why not, and what would help."""
    project = _project(request, pk)
    form = CoverageForm(request.GET or None)
    found = _coverage(project, form)
    on = _day(form, found)
    context = {
        "project": project,
        "form": form,
        "found": found,
        "on": on,
        "today": today_at(project),
        "confirming": found.facts.confirming,
        "query": _query(form),
        **coverage_context(found),
        **day_context(found, on),
    }
    for row in context["gaps"]:
        row["address"] = f"?{_query(form, day=max(row['days'].first, found.coverage.first))}#day"
    return render(
        request,
        "certificates/crew/coverage/coverage.html",
        context,
        status=422 if form.errors else 200,
    )


@require_safe
@never_cache
def project_coverage_csv(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Send who fills which post from when to when, as CSV."""
    project = _project(request, pk)
    form = CoverageForm(request.GET or None)
    found = _coverage(project, form)
    if form.errors:
        text = " ".join(str(one) for errors in form.errors.values() for one in errors)
        return HttpResponse(text, status=422, content_type="text/plain; charset=utf-8")
    response = HttpResponse(
        tables_csv([stays_table(found)]), content_type="text/csv; charset=utf-8"
    )
    name = f"coverage-{found.coverage.first.isoformat()}.csv"
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    return response


def _project(request: HttpRequest, pk: UUID) -> Project:
    person = person_of(request)
    project = get_object_or_404(projects_visible_to(person).select_related("contractor"), pk=pk)
    if not projects_kept_by(person).filter(pk=pk).exists():
        raise PermissionDenied(
            _("Only the contractor's manager sees how the crew fills the posts.")
        )
    return project


def _coverage(project: Project, form: CoverageForm) -> ProjectCoverage:
    form.is_valid()
    chosen = form.cleaned_data if form.is_bound else {}
    return coverage_of(
        project,
        at=chosen.get("at"),
        confirming=chosen.get("ahead") == CoverageForm.CONFIRMING,
    )


def _day(form: CoverageForm, found: ProjectCoverage) -> date:
    """The day to look at closely: the one asked for, the first short, or the first of all."""
    coverage = found.coverage
    asked: date | None = form.cleaned_data.get("day") if form.is_bound else None
    if asked is not None:
        if coverage.first <= asked <= coverage.last:
            return asked
        form.add_error(
            "day",
            _(
                "Write a day from {first} to {last}. The page shows the first day short meanwhile."
            ).format(first=written(coverage.first), last=written(coverage.last)),
        )
    return coverage.breaks.day if coverage.breaks else coverage.first


def _query(form: CoverageForm, **more: date) -> str:
    """What was chosen, for an address of the same choice."""
    chosen = {**(form.cleaned_data if form.is_bound else {}), **more}
    return urlencode(
        {name: str(chosen[name]) for name in ("at", "ahead", "day") if chosen.get(name)}
    )
