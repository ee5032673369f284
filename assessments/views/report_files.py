"""The files made of a training report: asked for, watched, handed out; and its photographs."""

import uuid

from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from assessments.actions.reports import ask_for_file
from assessments.models import ReportFile
from assessments.queries.trainingreport import files_visible_to, picture_of_run
from assessments.trainingreport.photographs import open_shot
from assessments.trainingreport.progress import progress_of
from assessments.trainingreport.scaled import THUMBNAIL, NotReadableError, scaled
from assessments.views.paper import paper_for
from training.views.refusals import act_or_say
from training.views.runs import visible_run
from training.views.who import person_of

AN_HOUR = 3600


@require_POST
def run_report_make(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Put a PDF of the report in the queue."""
    person = person_of(request)
    run = visible_run(person, pk)

    def ask() -> ReportFile:
        paper = paper_for(request.POST.get("paper") or None, run.program)
        return ask_for_file(actor=person, run=run, paper=paper)

    file = act_or_say(request, ask)
    return redirect("report_file", file.pk) if file else redirect("run_report", run.pk)


@never_cache
@require_safe
def report_file(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show how far a file is; the page reads itself again until it is made."""
    file = get_object_or_404(files_visible_to(person_of(request)), pk=pk)
    return render(
        request,
        "assessments/report/file.html",
        {"file": file, "run": file.report.run, "progress": progress_of(file)},
    )


@never_cache
@require_safe
def report_file_pdf(request: HttpRequest, pk: uuid.UUID) -> FileResponse:
    """Send a file that is made."""
    file = get_object_or_404(files_visible_to(person_of(request)), pk=pk)
    if file.state != ReportFile.State.READY:
        raise Http404(_("This file is not made yet."))
    run = file.report.run
    try:
        pdf = file.pdf.open("rb")
    except FileNotFoundError:
        raise Http404(_("The file is no longer in the storage. Make the PDF again.")) from None
    name = f"training-report-{run.program.code}-{run.starts_on:%Y-%m-%d}-{file.number}.pdf"
    response = FileResponse(pdf, as_attachment=True, filename=name, content_type="application/pdf")
    response["X-Content-Type-Options"] = "nosniff"
    return response


@require_safe
def report_picture(request: HttpRequest, pk: uuid.UUID, picture: str) -> HttpResponse:
    """Send a photograph of the run, small."""
    run = visible_run(person_of(request), pk)
    if not picture_of_run(run, picture):
        raise Http404(_("The run has no such photograph."))
    file = open_shot(picture)
    if file is None:
        raise Http404(_("The photograph is kept no longer."))
    try:
        with file:
            data = scaled(file, THUMBNAIL)
    except NotReadableError:
        raise Http404(_("The photograph cannot be read.")) from None
    response = HttpResponse(data, content_type="image/jpeg")
    response["X-Content-Type-Options"] = "nosniff"
    response["Cache-Control"] = f"private, max-age={AN_HOUR}"
    return response
