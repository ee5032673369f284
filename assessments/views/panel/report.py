"""The report on how a standard was fixed, and the judgements as spreadsheets."""

import uuid
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from assessments.exports import tables_csv, tables_of, tables_xlsx
from assessments.models import Panel
from assessments.queries.panel.document import panel_document
from assessments.queries.panel.ratings import ratings_tables
from assessments.queries.panel.recommendation import advice_of
from assessments.queries.panel.report import report_of
from assessments.views.panel.adoption import visible_panel
from assessments.views.paper import paper_for
from training.documents import render_pdf
from training.errors import Refused
from training.views.who import person_of

SHEETS = {
    "csv": ("text/csv; charset=utf-8", tables_csv),
    "xlsx": ("application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", tables_xlsx),
}


@require_safe
def panel_report(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Send the report as a PDF: on A4 where the program measures in mm, else on Letter."""
    panel = visible_panel(person_of(request), pk)
    title = _("How the passing standard was fixed: {title}, panel {number}").format(
        title=panel.program.title, number=panel.number
    )
    try:
        paper = paper_for(request.GET.get("paper"), panel.program)
        context = {"report": report_of(panel, document_of(panel))}
        pdf = render_pdf("documents/panel_report.html", context, paper=paper, title=title)
    except Refused as refused:
        why = {"panel": panel, "program": panel.program, "refused": refused.message}
        return render(request, "assessments/panel/no_report.html", why, status=400)
    return _file(pdf, "application/pdf", f"{_name(panel)}.pdf", inline=True)


@require_safe
def panel_ratings(request: HttpRequest, pk: uuid.UUID, kind: str) -> HttpResponse:
    """Send every judgement, and the figures made of them, as CSV or XLSX."""
    panel = visible_panel(person_of(request), pk)
    if kind not in SHEETS:
        raise Http404(f"There is no such file: ask for {' or '.join(SHEETS)}.")
    document = document_of(panel)
    tables = [*ratings_tables(document), *tables_of(document["recommendation"]["sections"])]
    content_type, write = SHEETS[kind]
    return _file(write(tables), content_type, f"{_name(panel)}-ratings.{kind}")


def document_of(panel: Panel) -> dict[str, Any]:
    """Return the panel's document: as it was adopted, or as it would be now."""
    if hasattr(panel, "adoption"):
        found: dict[str, Any] = panel.adoption.document
        return found
    return panel_document(panel, advice_of(panel))


def _name(panel: Panel) -> str:
    return f"panel-{panel.program.code}-{panel.program.version}-{panel.number}"


def _file(content: bytes, content_type: str, name: str, *, inline: bool = False) -> HttpResponse:
    place = "inline" if inline else "attachment"
    headers = {"Content-Disposition": f'{place}; filename="{name}"'}
    return HttpResponse(content, content_type=content_type, headers=headers)
