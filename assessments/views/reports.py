"""The training report of a run: its desk, the photographs of a stage, the preview."""

import uuid
from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from assessments.actions.reports import Overtaken, save_parts, save_stage
from assessments.forms.report import PartsForm, StageForm
from assessments.queries.trainingreport import Desk, desk_of, pictures_in, report_document
from assessments.trainingreport.photographs import StageShots
from training.documents import PAPERS
from training.errors import Refused
from training.models import CourseRun
from training.views.refusals import show
from training.views.runs import visible_run
from training.views.sent import sent
from training.views.who import person_of

DESK, STAGE = "assessments/report/desk.html", "assessments/report/stage.html"
AT_ONCE = 60  # photographs on a page
NO_KEY = "-"  # stands in the address for the photographs of no stage


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def run_report(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show the parts of a run's report, with the files made of it; save the parts."""
    person = person_of(request)
    run = visible_run(person, pk)
    desk = desk_of(run)
    form = PartsForm(sent(request), chosen=desk.choices.parts, version=desk.version)
    overtaken: Overtaken | None = None
    if request.method == "POST" and form.is_valid():
        try:
            save_parts(
                actor=person, run=run, version=form.cleaned_data["version"], parts=form.parts()
            )
        except Refused as refused:
            overtaken = refused if isinstance(refused, Overtaken) else None
            show(form, refused)
        else:
            messages.success(request, _("The report is saved."))
            return redirect("run_report", run.pk)
    context = {
        **_base(run, desk),
        "form": form,
        "version": _version(form, desk, overtaken),
        "overtaken": overtaken,
        "files": list(desk.report.files.all()[:5]) if desk.report else [],
        "papers": PAPERS,
    }
    return render(request, DESK, context, status=_status(form))


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def run_report_stage(request: HttpRequest, pk: uuid.UUID, stage: str) -> HttpResponse:
    """Show the photographs of one stage, a page at a time; save which are shown, and how."""
    person = person_of(request)
    run = visible_run(person, pk)
    desk = desk_of(run)
    found = _stage(desk, stage)
    page = Paginator(found.shots, AT_ONCE).get_page(request.GET.get("page"))
    usable = [shot for shot in page.object_list if shot.usable]
    form = StageForm(
        sent(request),
        shots=usable,
        shown=found.shown,
        version=desk.version,
        initial={"text": desk.choices.stage(found.key).text},
    )
    overtaken: Overtaken | None = None
    if request.method == "POST" and form.is_valid():
        try:
            save_stage(
                actor=person,
                run=run,
                version=form.cleaned_data["version"],
                stage=found.key,
                text=form.cleaned_data["text"],
                pictures=form.pictures(),
            )
        except Refused as refused:
            overtaken = refused if isinstance(refused, Overtaken) else None
            show(form, refused)
        else:
            messages.success(request, _("The stage “{title}” is saved.").format(title=found.title))
            back = reverse("run_report_stage", args=[run.pk, stage])
            return redirect(f"{back}?page={page.number}")
    context = {
        **_base(run, desk),
        "stage": found,
        "page": page,
        "form": form,
        "version": _version(form, desk, overtaken),
        "overtaken": overtaken,
        "saved": desk.choices.stage(found.key) if overtaken else None,
        "captions": {each.shot.id: each.caption for each in found.shown},
    }
    return render(request, STAGE, context, status=_status(form))


@never_cache
@require_safe
def run_report_preview(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show the report as a page, as it stands now."""
    run = visible_run(person_of(request), pk)
    document = report_document(run)
    sources = {
        each["id"]: reverse("report_picture", args=[run.pk, each["id"]])
        for each in pictures_in(document)
    }
    return render(
        request,
        "assessments/report/preview.html",
        {"run": run, "report": document, "sources": sources},
    )


def _base(run: CourseRun, desk: Desk) -> dict[str, Any]:
    stages = [(stage, stage.key or NO_KEY) for stage in desk.stages]
    return {"run": run, "desk": desk, "stages": stages}


def _stage(desk: Desk, key: str) -> StageShots:
    for stage in desk.stages:
        if (stage.key or NO_KEY) == key:
            return stage
    raise Http404(_("The task has no such stage."))


def _version(form: PartsForm | StageForm, desk: Desk, overtaken: Overtaken | None) -> Any:
    """Return the version that the next save names: once told of another's save, that one."""
    return form.data.get("version", "") if form.is_bound and not overtaken else desk.version


def _status(form: PartsForm | StageForm) -> int:
    return 422 if form.is_bound else 200
