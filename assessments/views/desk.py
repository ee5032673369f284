"""The versions of a program, and what changed between two of them."""

import uuid
from itertools import groupby

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from assessments.forms.desk import CompareForm
from assessments.programfile.differences import Change, changes_between
from assessments.queries.program_document import program_document
from assessments.queries.scope import drafts_visible_to
from assessments.queries.versions import comparable_with, versions_of
from training.errors import Refused
from training.models import Program
from training.queries.scope import is_lead
from training.views.who import person_of


@require_safe
def program_versions(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show the versions of a program with what their authors say has changed."""
    person = person_of(request)
    program = get_object_or_404(drafts_visible_to(person).select_related("provider"), pk=pk)
    context = {
        "program": program,
        "versions": versions_of(program, person),
        "leads": is_lead(person, program.provider),
    }
    return render(request, "assessments/desk/versions.html", context)


@require_safe
def program_diff(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show what changed in a program since another one: the version before, unless asked."""
    person = person_of(request)
    program = get_object_or_404(drafts_visible_to(person), pk=pk)
    others = comparable_with(program, person)
    before = _asked_for(request.GET.get("before", ""), others)
    form = CompareForm(initial={"before": before and str(before.pk)}, others=others)
    context: dict[str, object] = {"program": program, "before": before, "form": form}
    if before is not None:
        context |= _compared(before, program)
    return render(request, "assessments/desk/diff.html", context)


def _asked_for(asked: str, others: list[Program]) -> Program | None:
    """Return the program asked for, else the one at the top; Http404 for one that is not there."""
    if not asked:
        return others[0] if others else None
    for each in others:
        if str(each.pk) == asked:
            return each
    raise Http404(_("There is no such program to compare with."))


def _compared(before: Program, after: Program) -> dict[str, object]:
    try:
        changes = changes_between(program_document(before), program_document(after))
    except Refused as refused:
        return {"refused": refused.message}
    return {"changes": _by_part(changes), "count": len(changes)}


def _by_part(changes: list[Change]) -> list[tuple[str, list[Change]]]:
    """Return the changes under the parts of the program, in the order of the parts."""
    parts = list(dict.fromkeys(change.part for change in changes))
    ordered = sorted(changes, key=lambda change: parts.index(change.part))
    return [(part, list(rows)) for part, rows in groupby(ordered, lambda change: change.part)]
