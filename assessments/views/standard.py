"""Coverage of outcomes, the drafted standard, sealing it, and what was sealed."""

import uuid
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from assessments.actions.sealing import NotReady, faults_in, seal_standard
from assessments.engine.canonical import digest
from assessments.engine.errors import EngineError
from assessments.engine.kinds import Measured
from assessments.engine.numberline import figures
from assessments.engine.numbers import is_exact
from assessments.engine.qualification import stated_range
from assessments.engine.risk.on_limit import on_limit_sentence
from assessments.engine.standard import Standard, load_standard
from assessments.forms.seal import SealForm
from assessments.models import Panel, SealedStandard
from assessments.queries.coverage import Column, Coverage, Row, coverage_of
from assessments.queries.evidence import studied_by
from assessments.queries.panel.fixed import panel_at_work, panel_faults
from assessments.queries.panel.scope import panels_visible_to
from assessments.queries.program_document import program_document
from assessments.queries.scope import drafts_visible_to, standards_visible_to
from assessments.sentences import pass_rule_sentences, with_limits
from assessments.standard_document import with_panel
from training.errors import Refused
from training.models import Person, Program
from training.queries.scope import is_lead, programs_visible_to
from training.views.refusals import show
from training.views.who import person_of


@require_safe
def program_coverage(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show which module teaches and which criterion assesses each outcome, and the gaps."""
    person = person_of(request)
    program = get_object_or_404(drafts_visible_to(person).select_related("provider"), pk=pk)
    context: dict[str, Any] = {"program": program}
    try:
        found = coverage_of(program_document(program))
    except Refused as refused:
        context["refused"] = refused.message
    else:
        context |= {"coverage": found, "parts": _parts(found)}
    return render(request, "assessments/coverage.html", context)


def _parts(found: Coverage) -> list[tuple[str, list[tuple[Column, list[tuple[Row, str]]]]]]:
    """Return modules and criteria as rows, each mark beside its outcome: there are few of these."""
    taught = [
        (column, [(row, "✓" if row.teaches[place] else "") for row in found.rows])
        for place, column in enumerate(found.modules)
    ]
    assessed = [
        (column, [(row, row.weights[place] or "") for row in found.rows])
        for place, column in enumerate(found.criteria)
    ]
    return [
        (_("Modules that teach it"), taught),
        (_("Criteria that assess it, by weight"), assessed),
    ]


@require_safe
def standard(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show the draft in readable form, what keeps it from being sealed, and what is sealed."""
    return _page(request, person_of(request), pk)


@require_POST
def standard_seal(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Seal the draft that was read."""
    person = person_of(request)
    program = get_object_or_404(programs_visible_to(person).select_related("provider"), pk=pk)
    if not is_lead(person, program.provider):
        raise PermissionDenied(
            _("Only a training lead of {provider} may do this.").format(provider=program.provider)
        )
    form = SealForm(request.POST)
    if form.is_valid():
        try:
            read = request.POST.get("read_digest", "")
            sealed = seal_standard(actor=person, program=program, read=read)
        except NotReady as refused:
            # The page names each fault beside the draft.
            form.add_error(None, refused.message.splitlines()[0])
        except Refused as refused:
            show(form, refused)
        else:
            messages.success(
                request,
                _("Standard {serial} is sealed: attempts can start under it.").format(
                    serial=sealed.serial
                ),
            )
            return redirect("sealed_standard", sealed.pk)
    return _page(request, person, pk, form)


@require_safe
def sealed_standard(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show a sealed standard."""
    person = person_of(request)
    visible = standards_visible_to(person).select_related("program__provider", "sealed_by")
    found = get_object_or_404(visible, pk=pk)
    latest = SealedStandard.objects.filter(program=found.program).defer("document").first()
    return render(
        request,
        "assessments/sealed_standard.html",
        {
            "standard": found,
            "latest": latest,
            "studies": studied_by(person).filter(pk=pk).exists(),
            "program": found.program,
            **_fixed_by(found.document, is_lead(person, found.program.provider)),
            **_readable(found.document),
        },
    )


def _page(
    request: HttpRequest, person: Person, pk: uuid.UUID, form: SealForm | None = None
) -> HttpResponse:
    program = get_object_or_404(programs_visible_to(person).select_related("provider"), pk=pk)
    sealed = list(program.standards.select_related("sealed_by").defer("document"))
    context: dict[str, Any] = {"program": program, "sealed": sealed, "form": form}
    if drafts_visible_to(person).filter(pk=pk).exists():
        context |= _draft(person, program, sealed, form)
    elif not sealed:
        raise Http404(_("No standard of this program is sealed."))
    return render(request, "assessments/standard.html", context, status=422 if form else 200)


def _draft(
    person: Person, program: Program, sealed: list[SealedStandard], form: SealForm | None
) -> dict[str, Any]:
    leads = is_lead(person, program.provider)
    try:
        document = program_document(program)
    except Refused as refused:
        return {"refused": refused.message, "leads": leads}
    draft = with_panel(program, document)
    try:
        readable = _readable(draft)
    except EngineError:
        readable = {}  # the faults say why, and what to write
    found = digest(draft)
    same = next((each for each in sealed if each.digest == found), None)
    faults = [*panel_faults(program, document), *faults_in(document)]
    return {
        "leads": leads,
        "panels": list(panels_visible_to(person).filter(program=program)) if leads else [],
        "task": document["task"],
        "faults": faults,
        "same": same,
        "digest": found,
        "form": form or SealForm(),
        "busy": panel_at_work(program),
        **_fixed_by(draft, leads),
        **readable,
    }


def _fixed_by(document: dict[str, Any], leads: bool) -> dict[str, Any]:
    """Return the panel that fixed a standard, for includes/fixed_by.html; None without one."""
    panel = document.get("about", {}).get("panel")
    if panel is None:
        return {"fixed": None}
    named = {**panel, "method_label": Panel.Method(panel["method"]).label}
    return {"fixed": named, "report": panel["id"] if leads else None}


def _readable(document: dict[str, Any]) -> dict[str, Any]:
    """Return a standard's document by stages; EngineError where it cannot be read."""
    loaded = load_standard(document)
    stages = [
        {
            **stage,
            "criteria": [
                _worked_out(loaded, row)
                for row in document["criteria"]
                if row["stage"] == stage["key"]
            ],
        }
        for stage in document["stages"]
    ]
    return {
        "document": document,
        "stages": stages,
        "rules": pass_rule_sentences(document),
        "range": stated_range(document),
    }


def _worked_out(loaded: Standard, row: dict[str, Any]) -> dict[str, Any]:
    """Return a criterion's document, with what a measured one's rule risks where that is known.

    ``derived`` are the limits worked out, where the standard has a formula.
    """
    rule = loaded.criterion(row["key"]).rule
    if not isinstance(rule, Measured):
        return row
    row = {**row, "risk": on_limit_sentence(rule)}
    limits = with_limits(row, figures(loaded.criterion(row["key"])))
    formula = any(end and not is_exact(end) for end in row["limits"].values())
    return {**row, "derived": limits} if formula else row
