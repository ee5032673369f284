"""The score sheet on paper, for when no device can be used on site."""

import uuid

from django.conf import settings
from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_
from django.views.decorators.http import require_safe

from assessments.models import Attempt
from assessments.queries.scope import may_assess
from assessments.queries.score_paper import PrintedSheet, printed_sheet, printed_sheets
from assessments.views.paper import paper_for
from training.documents import render_pdf
from training.documents.qr import qr_svg
from training.errors import Refused
from training.models import CourseRun, Enrolment, Person
from training.queries.scope import enrolments_visible_to
from training.views.runs import visible_run
from training.views.who import person_of

NOTHING_TO_PRINT = N_(
    "There is no score sheet to print: seal a passing standard first, and enrol somebody who has "
    "not met it yet."
)


@require_safe
def score_sheet_pdf(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Send the score sheet of one trainee: on A4 where the program measures in mm."""
    person = person_of(request)
    enrolment = _assessable(person, pk)
    sheet = printed_sheet(enrolment)
    title = _("Score sheet of {person}").format(person=enrolment.person)
    return _pdf(request, person, enrolment.run, [sheet] if sheet else [], title)


@require_safe
def run_score_sheets(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Send the score sheets of a run in one file: of everybody who has not met the standard."""
    person = person_of(request)
    run = visible_run(person, pk)
    sheets = [each for each in printed_sheets(run) if each.enrolment.person_id != person.pk]
    return _pdf(request, person, run, sheets, _("Score sheets, {site}").format(site=run.site))


@require_safe
def enrolment_paper(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Lead from the code on a sheet to where it is keyed in: the attempt that is open now."""
    enrolment = _assessable(person_of(request), pk)
    attempt = enrolment.attempts.filter(state=Attempt.State.OPEN).first()
    if attempt is not None:
        return redirect("attempt_paper", attempt.pk)
    messages.info(
        request,
        _("No attempt of {person} is open: start it, then key in the sheet.").format(
            person=enrolment.person
        ),
    )
    return redirect("run", enrolment.run_id)


def _assessable(person: Person, pk: uuid.UUID) -> Enrolment:
    """Return the enrolment; Http404 for a stranger, PermissionDenied for who may only read it."""
    visible = enrolments_visible_to(person).select_related("person", "run__program", "run__site")
    enrolment = get_object_or_404(visible, pk=pk)
    if enrolment.person_id == person.pk or not may_assess(person, enrolment.run):
        raise PermissionDenied(_("Only a lead or an instructor of the run scores this trainee."))
    return enrolment


def _pdf(
    request: HttpRequest, person: Person, run: CourseRun, sheets: list[PrintedSheet], title: str
) -> HttpResponse:
    if not sheets:
        messages.error(request, _(NOTHING_TO_PRINT))
        return redirect("run", run.pk)
    context = {"run": run, "program": run.program, "sheets": [_with_code(each) for each in sheets]}
    try:
        paper = paper_for(request.GET.get("paper"), run.program)
        pdf = render_pdf(
            "documents/score_sheet.html",
            context,
            paper=paper,
            title=title,
            parts=[f"sheet-{number}" for number in range(1, len(sheets) + 1)],
        )
    except Refused as refused:
        messages.error(request, refused.message)
        return redirect("run", run.pk)
    name = f"score-sheet-{run.program.code}-{run.program.version}.pdf"
    headers = {"Content-Disposition": f'inline; filename="{name}"', "Cache-Control": "no-store"}
    return HttpResponse(pdf, content_type="application/pdf", headers=headers)


def _with_code(sheet: PrintedSheet) -> dict[str, object]:
    """Return the sheet with the address where it is keyed in, and the code that leads there."""
    if sheet.attempt is not None:
        path = reverse("attempt_paper", args=[sheet.attempt.pk])
    else:
        path = reverse("enrolment_paper", args=[sheet.enrolment.pk])
    address = f"{settings.BASE_URL}{path}"
    code = qr_svg(
        address,
        title=_("QR code that leads to {address}, where this sheet is keyed in").format(
            address=address
        ),
    )
    return {"sheet": sheet, "address": address, "code": mark_safe(code)}
