"""The scoring pages: all criteria of an attempt, and one of them at a time."""

import uuid
from functools import partial
from typing import Any
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from assessments.actions.pages import Entry, device_of, record_from_page
from assessments.engine.numberline import figures
from assessments.forms.score import FORMS, SubjectForm, UndoForm
from assessments.models import Attempt, Observation, PracticalTask
from assessments.queries.sheet import ACCEPTED, Line, ScoreSheet, score_sheet
from assessments.sentences import with_limits
from assessments.views.attempts import assessable_attempt
from assessments.views.strip import beside, stages_of
from training.models import Person
from training.views.refusals import act, act_or_say
from training.views.who import person_of


@require_safe
@never_cache
def attempt_score(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show every stage with its criteria and hold point, and what is to be scored next."""
    person = person_of(request)
    attempt = assessable_attempt(person, pk)
    if attempt.state != Attempt.State.OPEN:
        return _over(request, attempt)
    sheet = score_sheet(attempt, person)
    task = PracticalTask.objects.filter(program=attempt.enrolment.run.program_id).first()
    context = {
        **_around(sheet),
        "sheet": sheet,
        "fresh": not any(line.observation for line in sheet.asked),
        "carried": len(sheet.asked) < len(sheet.lines),
        "task": task,
        "next": sheet.next_todo(),
    }
    return render(request, "assessments/score.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def attempt_score_subject(request: HttpRequest, pk: uuid.UUID, kind: str, key: str) -> HttpResponse:
    """Show one criterion or hold point, take what the assessor enters, say what it comes to."""
    person = person_of(request)
    attempt = assessable_attempt(person, pk)
    if attempt.state != Attempt.State.OPEN:
        return _over(request, attempt)
    with timezone.override(ZoneInfo(attempt.enrolment.run.site.time_zone)):
        sheet = score_sheet(attempt, person)
        line = sheet.line(kind, key)
        if line is None:
            raise Http404(_("The standard has no {kind} {key}.").format(kind=kind, key=key))
        if line.stands:
            messages.info(
                request, _("This stands from the attempt before: it is not scored again.")
            )
            return redirect("attempt_score", attempt.pk)
        if request.method == "POST" and "undo" in request.POST:
            return _undo(request, person, attempt, line)
        form = _form(request, line)
        if request.method == "POST" and form.is_valid():
            entry = _entry(line, form.cleaned_data, form.value())
            if _record(request, form, person, attempt, entry):
                return redirect(_address(attempt, line))
        context = {**_around(sheet, line), **_about(sheet, line, form)}
        status = 422 if form.errors else 200
        return render(request, "assessments/score_subject.html", context, status=status)


def _over(request: HttpRequest, attempt: Attempt) -> HttpResponse:
    messages.info(request, _("This attempt is signed off: nothing more is scored."))
    return redirect("attempt", attempt.pk)


def _address(attempt: Attempt, line: Line) -> str:
    parts = [attempt.pk, line.subject.kind, line.subject.key]
    return reverse("attempt_score_subject", args=parts)


def _form(request: HttpRequest, line: Line) -> SubjectForm:
    kind = FORMS[line.subject.form_kind]
    subject = line.subject.document or {}
    if request.method == "POST":
        return kind(request.POST, subject=subject)
    initial: dict[str, Any] = {}
    if line.observation is not None:
        initial["replaces"] = line.observation.pk
    if line.observation is not None and line.value is not None:
        initial |= {"note": line.observation.note, **kind.initial_of(line.value)}
    return kind(subject=subject, initial=initial)


def _entry(line: Line, cleaned: dict[str, Any], value: dict[str, Any]) -> Entry:
    return Entry(
        id=cleaned["observation_id"],
        kind=line.subject.kind,
        key=line.subject.key,
        value=value,
        note=cleaned.get("note", ""),
        replaces=cleaned["replaces"],
    )


def _record(
    request: HttpRequest, form: SubjectForm, person: Person, attempt: Attempt, entry: Entry
) -> Observation | None:
    device = device_of(request.session)
    return act(form, record_from_page, actor=person, attempt=attempt, device=device, entry=entry)


def _undo(request: HttpRequest, person: Person, attempt: Attempt, line: Line) -> HttpResponse:
    form = UndoForm(request.POST)
    if not form.is_valid():
        messages.error(request, _("Nothing was taken back: press the key on this page once more."))
    elif act_or_say(
        request,
        record_from_page,
        actor=person,
        attempt=attempt,
        device=device_of(request.session),
        entry=_entry(line, form.cleaned_data, {"cleared": True}),
    ):
        messages.success(request, _("Taken back: nothing is scored here now."))
    return redirect(_address(attempt, line))


def _around(sheet: ScoreSheet, line: Line | None = None) -> dict[str, Any]:
    """Return what the strip on top and the bar below show."""
    attempt = sheet.attempt
    stages = stages_of(sheet.standard, sheet.lines, line)
    # Only here the work goes on past hold points.
    for told, stage in zip(stages, sheet.standard.stages, strict=True):
        told["hold_point"] = stage.hold_point
        told["held"] = sheet.holds.get(stage.key) == ACCEPTED
    return {
        "attempt": attempt,
        "person": attempt.enrolment.person,
        "stages": stages,
        "list_url": reverse("attempt_score", args=[attempt.pk]),
        **beside(sheet.asked, line, partial(_address, attempt)),
    }


def _about(sheet: ScoreSheet, line: Line, form: SubjectForm) -> dict[str, Any]:
    subject, after = line.subject, sheet.next_todo(line)
    criterion, drawn = subject.document, None
    if criterion is not None and subject.form_kind == "measured":
        readings = line.value if line.value and "readings" in line.value else None
        drawn = figures(sheet.standard.criterion(subject.key), readings)
        criterion = with_limits(criterion, drawn)
    return {
        "line": line,
        "criterion": criterion,
        "stage": sheet.standard.stages[subject.stage],
        "form": form,
        "undo": UndoForm(initial={"observation_id": uuid.uuid4()}),
        "current": line.value,
        "figures": drawn,
        "zone": sheet.attempt.enrolment.run.site.time_zone,
        "after": after,
        "after_url": _address(sheet.attempt, after) if after else None,
    }
