"""The task sheet, as a page and on paper."""

import uuid
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from assessments.engine.errors import EngineError
from assessments.models import SealedStandard
from assessments.programfile.standard import standard_from_program
from assessments.queries.program_document import program_document
from assessments.queries.scope import drafts_visible_to, standards_visible_to
from assessments.queries.task_sheet import sheet_of
from assessments.views.paper import paper_for
from training.documents import render_pdf
from training.errors import Refused
from training.models import Enrolment, Person
from training.queries.scope import enrolments_visible_to
from training.views.who import person_of

PAGE = "assessments/task_sheet.html"


@require_safe
def task_sheet(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show the task sheet of a sealed standard."""
    return render(request, PAGE, _sealed(request, pk))


@require_safe
def task_sheet_pdf(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Send the task sheet as a PDF: on A4 where the program measures in mm, else on Letter."""
    context = _sealed(request, pk)
    program, sheet, enrolment = context["program"], context["sheet"], context["enrolment"]
    try:
        paper = paper_for(request.GET.get("paper"), program)
        title = _("Task sheet: {title}").format(title=sheet.title)
        if enrolment:
            title = f"{title}, {enrolment.person}"
        pdf = render_pdf("documents/task_sheet.html", context, paper=paper, title=title)
    except Refused as refused:
        return render(request, PAGE, {**context, "refused": refused.message}, status=400)
    name = f"task-sheet-{program.code}-{program.version}-{context['standard'].serial}.pdf"
    headers = {"Content-Disposition": f'inline; filename="{name}"'}
    return HttpResponse(pdf, content_type="application/pdf", headers=headers)


@require_safe
def task_sheet_draft(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show what the task sheet would say if the draft were sealed now."""
    drafts = drafts_visible_to(person_of(request)).select_related("provider")
    program = get_object_or_404(drafts, pk=pk)
    context: dict[str, Any] = {"program": program, "writes": True}
    try:
        document = standard_from_program(program_document(program))
        context["sheet"] = sheet_of(program, document)
    except (Refused, EngineError) as error:
        context["refused"] = str(error)
    return render(request, PAGE, context)


def _sealed(request: HttpRequest, pk: uuid.UUID) -> dict[str, Any]:
    person = person_of(request)
    visible = standards_visible_to(person).select_related("program__provider")
    standard = get_object_or_404(visible, pk=pk)
    return {
        "standard": standard,
        "program": standard.program,
        "sheet": sheet_of(standard.program, standard.document),
        "enrolment": _enrolment(person, standard, request.GET.get("for")),
        "writes": drafts_visible_to(person).filter(pk=standard.program_id).exists(),
    }


def _enrolment(person: Person, standard: SealedStandard, asked: str | None) -> Enrolment | None:
    """Return whose sheet it is, if anybody's; Http404 where ``person`` may not see that."""
    if not asked:
        return None
    try:
        key = uuid.UUID(asked)
    except ValueError:
        raise Http404(_("This is no enrolment.")) from None
    visible = enrolments_visible_to(person).filter(run__program=standard.program_id)
    return get_object_or_404(visible.select_related("person", "run__site"), pk=key)
