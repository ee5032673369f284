"""How a program does over its runs, and its evidence file: pages, PDFs and tables."""

import uuid
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import pgettext
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from assessments.evaluation.data import evaluation_of
from assessments.evaluation.file import evidence_file_of
from assessments.evaluation.sections import sections_of
from assessments.evidence.results import section_document
from assessments.exports import tables_csv, tables_of, tables_xlsx
from assessments.queries.scope import drafts_visible_to
from assessments.views.paper import paper_for
from training.documents import render_pdf
from training.errors import Refused
from training.models import Person, Program
from training.queries.scope import is_lead
from training.views.who import person_of

FORMS = {
    "csv": (tables_csv, "text/csv; charset=utf-8"),
    "xlsx": (tables_xlsx, "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"),
}
STATES = {
    "held": ("good", "check"),
    "partly": ("doubt", "half"),
    "missing": ("bad", "cross"),
}


@require_safe
@never_cache
def program_evaluation(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show the evaluation as it stands now."""
    return render(request, "assessments/evaluation/evaluation.html", _evaluation(request, pk))


@require_safe
@never_cache
def evaluation_pdf(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Send the evaluation as a PDF: on A4 where the program measures in mm, else on Letter."""
    return _pdf(request, _evaluation(request, pk), "evaluation", _("Evaluation of {title}"))


@require_safe
@never_cache
def evaluation_tables(request: HttpRequest, pk: uuid.UUID, form: str) -> HttpResponse:
    """Send figures and tables for a spreadsheet: ``form`` is csv or xlsx."""
    if form not in FORMS:
        raise Http404(f"Tables come as {' or '.join(FORMS)}.")
    context = _evaluation(request, pk)
    write, content_type = FORMS[form]
    name = _name("evaluation", context["program"])
    headers = {"Content-Disposition": f'attachment; filename="{name}.{form}"'}
    data = write(tables_of(context["sections"]))
    return HttpResponse(data, content_type=content_type, headers=headers)


@require_safe
@never_cache
def evidence_file(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show what is held and what is missing, subject by subject."""
    return render(request, "assessments/evaluation/file.html", _file(request, pk))


@require_safe
@never_cache
def evidence_file_pdf(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Send the evidence file as a PDF."""
    return _pdf(request, _file(request, pk), "file", _("Evidence file of {title}"))


def _program(person: Person, pk: uuid.UUID) -> Program:
    return get_object_or_404(drafts_visible_to(person).select_related("provider"), pk=pk)


def _evaluation(request: HttpRequest, pk: uuid.UUID) -> dict[str, Any]:
    person = person_of(request)
    program = _program(person, pk)
    leads = is_lead(person, program.provider)
    found = evaluation_of(program, leads=leads)
    return {
        "program": program,
        "runs": found.runs,
        "reactions": [(run, found.reactions[run.pk]) for run in found.runs],
        "sections": [section_document(section) for section in sections_of(found)],
        "leads": leads,
        "now": timezone.localtime(),
    }


def _file(request: HttpRequest, pk: uuid.UUID) -> dict[str, Any]:
    person = person_of(request)
    program = _program(person, pk)
    words = {
        "held": pgettext("evidence file", "Held"),
        "partly": pgettext("evidence file", "Partly held"),
        "missing": pgettext("evidence file", "Missing"),
    }
    rows = []
    for entry in evidence_file_of(program):
        tone, shape = STATES[entry.state]
        row = {"entry": entry, "tone": tone, "shape": shape, "word": words[entry.state]}
        rows.append(row)
    counts = {word: sum(row["word"] == word for row in rows) for word in words.values()}
    return {
        "program": program,
        "rows": rows,
        # Most of what is held, and what is missing, stands on pages that are a lead's.
        "leads": is_lead(person, program.provider),
        "counts": list(counts.items()),
        "now": timezone.localtime(),
        "site": request.build_absolute_uri("/").rstrip("/"),
    }


def _pdf(request: HttpRequest, context: dict[str, Any], kind: str, what: str) -> HttpResponse:
    program = context["program"]
    try:
        paper = paper_for(request.GET.get("paper"), program)
        pdf = render_pdf(
            f"assessments/evaluation/{kind}_pdf.html",
            context,
            paper=paper,
            title=what.format(title=program.title),
        )
    except Refused as refused:
        page = f"assessments/evaluation/{kind}.html"
        return render(request, page, {**context, "refused": refused.message}, status=400)
    name = _name("evaluation" if kind == "evaluation" else "evidence-file", program)
    headers = {"Content-Disposition": f'inline; filename="{name}.pdf"'}
    return HttpResponse(pdf, content_type="application/pdf", headers=headers)


def _name(kind: str, program: Program) -> str:
    return f"{kind}-{program.code}-{program.version}-{timezone.localdate():%Y-%m-%d}"
