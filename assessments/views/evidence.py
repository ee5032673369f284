"""The evidence on a sealed standard: its reports as pages, on paper and as tables."""

import uuid
from datetime import date
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext, pgettext
from django.views.decorators.http import require_POST, require_safe

from assessments.actions.evidence import make_evidence
from assessments.engine.canonical import canonical
from assessments.exports import tables_csv, tables_of, tables_xlsx
from assessments.models import EvidenceReport, SealedStandard
from assessments.queries.evidence import reports_visible_to, standing_of, studied_by
from assessments.queries.scope import drafts_visible_to
from assessments.views.paper import paper_for
from training.documents import render_pdf
from training.errors import Refused
from training.models import Person
from training.queries.scope import is_lead
from training.views.refusals import act_or_say
from training.views.who import person_of

DAY = "j M Y"
DECIDED = ("decided_from", "decided_until")
REPORT_PAGE = "assessments/evidence_report.html"
FORMS = {
    "csv": (tables_csv, "text/csv; charset=utf-8"),
    "xlsx": (tables_xlsx, "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"),
}
SCORES, SCORES_PART = "json", "scores"


@require_safe
def program_evidence(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Lead on to the evidence on the standard that is in use now."""
    program = get_object_or_404(drafts_visible_to(person_of(request)), pk=pk)
    latest = program.standards.only("pk").first()
    if latest is None:
        messages.info(
            request,
            _(
                "No standard is sealed yet. Evidence comes from attempts that are decided under "
                "one."
            ),
        )
        return redirect("standard", program.pk)
    return redirect("evidence", latest.pk)


@require_safe
def evidence(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show what the newest report says, what was decided since, and the earlier reports."""
    person = person_of(request)
    standard = _standard(person, pk)
    standing = standing_of(standard)
    newest = standing.newest
    document = None
    if newest is not None:
        document = EvidenceReport.objects.values_list("document", flat=True).get(pk=newest.pk)
    context = {
        "standard": standard,
        "program": standard.program,
        "standing": standing,
        "document": document,
        "leads": is_lead(person, standard.program.provider),
    }
    return render(request, "assessments/evidence.html", context)


@require_POST
def evidence_make(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Make the report on what is decided until now."""
    person = person_of(request)
    standard = _standard(person, pk)
    report = act_or_say(request, make_evidence, actor=person, standard=standard)
    if report is None:
        return redirect("evidence", standard.pk)
    messages.success(
        request, _("The report is made. It is kept as it is; a later one stands beside.")
    )
    return redirect("evidence_report", report.pk)


@require_safe
def evidence_report(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show a report with all its sections."""
    return render(request, REPORT_PAGE, _report(request, pk))


@require_safe
def evidence_pdf(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Send a report as a PDF: on A4 where the program measures in mm, else on Letter."""
    context = _report(request, pk)
    program, standard = context["program"], context["standard"]
    try:
        paper = paper_for(request.GET.get("paper"), program)
        title = _("Evidence on standard {serial}: {title}").format(
            serial=standard.serial, title=program.title
        )
        pdf = render_pdf("documents/evidence.html", context, paper=paper, title=title)
    except Refused as refused:
        return render(request, REPORT_PAGE, {**context, "refused": refused.message}, status=400)
    headers = {"Content-Disposition": f'inline; filename="{_name(context["report"])}.pdf"'}
    return HttpResponse(pdf, content_type="application/pdf", headers=headers)


@require_safe
def evidence_tables(request: HttpRequest, pk: uuid.UUID, form: str) -> HttpResponse:
    """Send the figures and tables of a report for a spreadsheet: ``form`` is csv or xlsx.

    As json it is the scores that they come from, for ``python -m assessments.evidence``.
    """
    report = _report(request, pk)["report"]
    headers = {"Content-Disposition": f'attachment; filename="{_name(report)}.{form}"'}
    if form == SCORES and SCORES_PART in report.document:
        data = canonical(report.document[SCORES_PART])
        return HttpResponse(data, content_type="application/json", headers=headers)
    if form not in FORMS:
        raise Http404(f"Tables come as {' or '.join(FORMS)}.")
    write, content_type = FORMS[form]
    data = write(tables_of(report.document["sections"]))
    return HttpResponse(data, content_type=content_type, headers=headers)


def _standard(person: Person, pk: uuid.UUID) -> SealedStandard:
    visible = studied_by(person).select_related("program__provider", "sealed_by")
    return get_object_or_404(visible, pk=pk)


def _report(request: HttpRequest, pk: uuid.UUID) -> dict[str, Any]:
    visible = reports_visible_to(person_of(request)).select_related(
        "standard__program__provider", "standard__sealed_by", "made_by"
    )
    report = get_object_or_404(visible.defer("standard__document"), pk=pk)
    return {
        "report": report,
        "evidence": report.document,
        "standard": report.standard,
        "program": report.standard.program,
        "facts": _facts(report),
        "made_with": ", ".join(
            f"{name} {version}" for name, version in report.document["made_with"].items()
        ),
    }


def _facts(report: EvidenceReport) -> list[tuple[str, str]]:
    """Return what a report is about, to stand on top of it."""
    standard, cohort = report.standard, report.document["cohort"]
    days = [date_format(date.fromisoformat(cohort[name]), DAY) for name in DECIDED]
    sealed, made = (timezone.localtime(at) for at in (standard.sealed_at, report.made_at))
    return [
        (
            _("Program"),
            _("{code}, version {version}").format(
                code=standard.program.code, version=standard.program.version
            ),
        ),
        (
            _("Standard"),
            _("{serial}, sealed {day} by {name}").format(
                serial=standard.serial,
                day=date_format(sealed, DAY),
                name=standard.sealed_by,
            ),
        ),
        (
            _("Cohort"),
            _("{attempts} decided, of {trainees} on {runs}").format(
                attempts=_counted(
                    ngettext("{count} attempt", "{count} attempts", cohort["attempts"]),
                    cohort["attempts"],
                ),
                trainees=_counted(
                    ngettext("{count} trainee", "{count} trainees", cohort["people"]),
                    cohort["people"],
                ),
                runs=_counted(
                    ngettext("{count} run", "{count} runs", cohort["runs"]), cohort["runs"]
                ),
            ),
        ),
        (
            _("Scored by"),
            ngettext(
                "{count} assessor; {twice} of the attempts by more than one",
                "{count} assessors; {twice} of the attempts by more than one",
                cohort["assessors"],
            ).format(count=cohort["assessors"], twice=cohort["double_scored"]),
        ),
        (
            _("Decided"),
            days[0]
            if days[0] == days[1]
            else _("{first} to {last}").format(first=days[0], last=days[1]),
        ),
        (
            pgettext("report", "Made"),
            _("{day} by {name}").format(day=date_format(made, f"{DAY} H:i"), name=report.made_by),
        ),
    ]


def _counted(text: str, count: int) -> str:
    return text.format(count=count)


def _name(report: EvidenceReport) -> str:
    program = report.standard.program
    return (
        f"evidence-{program.code}-{program.version}-{report.standard.serial}"
        f"-{report.made_at:%Y-%m-%d}"
    )
