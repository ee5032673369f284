"""Scoring a reference piece on the scoring pages, and the comparison afterwards."""

import uuid
from functools import partial
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from assessments.actions.calibration import finish_sitting, score_reference
from assessments.engine.numberline import figures
from assessments.forms.score import FORMS, SubjectForm
from assessments.models import CalibrationSitting, PracticalTask
from assessments.queries.calibration.evidence import section_of
from assessments.queries.calibration.scope import sittings_visible_to
from assessments.queries.calibration.sheet import SittingLine, SittingSheet, sitting_sheet
from assessments.queries.calibration.standing import CURRENT, compared, finished_sittings
from assessments.sentences import with_limits
from assessments.views.strip import beside, stages_of
from training.models import Person
from training.views.refusals import act, act_or_say
from training.views.who import person_of

State = CalibrationSitting.State


def visible_sitting(person: Person, pk: uuid.UUID) -> CalibrationSitting:
    """Return the sitting with its parts; Http404 when it is not visible to ``person``."""
    rows = sittings_visible_to(person).select_related("piece__standard__program", "assessor")
    return get_object_or_404(rows.prefetch_related(CURRENT), pk=pk)


def own_sitting(person: Person, pk: uuid.UUID) -> CalibrationSitting:
    """Return the sitting; PermissionDenied for who may only read it."""
    sitting = visible_sitting(person, pk)
    if sitting.assessor != person:
        raise PermissionDenied(_("Only the assessor who began this sitting scores in it."))
    return sitting


@require_safe
@never_cache
def sitting(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show what is to be scored; once finished, each criterion as agreed and as given."""
    person = person_of(request)
    found = visible_sitting(person, pk)
    if found.state == State.FINISHED:
        return _comparison(request, person, found)
    sheet = sitting_sheet(found)
    task = PracticalTask.objects.filter(program=found.piece.standard.program_id).first()
    context = {**_around(sheet), "sheet": sheet, "next": sheet.next_todo(), "task": task}
    return render(request, "assessments/calibration/sitting.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def sitting_criterion(request: HttpRequest, pk: uuid.UUID, key: str) -> HttpResponse:
    """Show one criterion, take what the assessor enters, say what it comes to."""
    person = person_of(request)
    found = own_sitting(person, pk)
    if found.state == State.FINISHED:
        messages.info(request, _("This sitting is finished: nothing more is scored."))
        return redirect("sitting", found.pk)
    sheet = sitting_sheet(found)
    line = sheet.line(key)
    if line is None:
        raise Http404(_("The piece has no criterion {key} to score.").format(key=key))
    form = _form(request, line)
    if form.is_valid():
        scored = act(
            form,
            score_reference,
            actor=person,
            sitting=found,
            criterion=key,
            value=form.value(),
            score_id=form.cleaned_data["observation_id"],
        )
        if scored is not None:
            return redirect("sitting_criterion", found.pk, key)
    context = {**_around(sheet, line), **_about(sheet, line, form)}
    status = 422 if form.errors else 200
    template = "assessments/calibration/sitting_criterion.html"
    return render(request, template, context, status=status)


@require_POST
def sitting_finish(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """End the sitting and show the agreed scores."""
    person = person_of(request)
    found = own_sitting(person, pk)
    act_or_say(request, finish_sitting, actor=person, sitting=found)
    return redirect("sitting", found.pk)


def _comparison(request: HttpRequest, person: Person, found: CalibrationSitting) -> HttpResponse:
    program = found.piece.standard.program
    earlier = [compared(each) for each in finished_sittings([program], found.assessor)]
    context = {
        "sitting": found,
        "program": program,
        "sat": compared(found),
        "own": found.assessor == person,
        "section": section_of(earlier),
    }
    return render(request, "assessments/calibration/comparison.html", context)


def _form(request: HttpRequest, line: SittingLine) -> SubjectForm:
    kind = FORMS[line.subject.form_kind]
    data = request.POST if request.method == "POST" else None
    initial = kind.initial_of(line.score.value) if line.score else {}
    form = kind(data, subject=line.subject.document or {}, initial=initial)
    # Nobody reads a note here, and a new score takes the place of the earlier by itself.
    del form.fields["note"], form.fields["replaces"]
    return form


def _address(sheet: SittingSheet, line: SittingLine) -> str:
    return reverse("sitting_criterion", args=[sheet.sitting.pk, line.subject.key])


def _around(sheet: SittingSheet, line: SittingLine | None = None) -> dict[str, Any]:
    """Return what the strip on top and the bar below show."""
    stages = stages_of(sheet.standard, sheet.lines, line)
    return {
        "sitting": sheet.sitting,
        "person": sheet.sitting.piece,
        "stages": [each for each in stages if each["lines"]],
        "list_url": reverse("sitting", args=[sheet.sitting.pk]),
        **beside(sheet.lines, line, partial(_address, sheet)),
    }


def _about(sheet: SittingSheet, line: SittingLine, form: SubjectForm) -> dict[str, Any]:
    criterion, drawn = line.subject.document, None
    after = sheet.next_todo(line)
    if criterion is not None and line.subject.form_kind == "measured":
        value = line.score.value if line.score and "readings" in line.score.value else None
        drawn = figures(sheet.standard.criterion(line.subject.key), value)
        criterion = with_limits(criterion, drawn)
    return {
        "line": line,
        "criterion": criterion,
        "stage": sheet.standard.stages[line.subject.stage],
        "form": form,
        "current": line.score.value if line.score else None,
        "figures": drawn,
        "zone": timezone.get_current_timezone_name(),
        "after": after,
        "after_url": _address(sheet, after) if after else None,
    }
