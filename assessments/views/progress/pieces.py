"""Practice pieces: recording one, what was seen on it, scoring its criteria."""

import uuid
from functools import partial
from typing import Any
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from assessments.actions.practice_pieces import record_piece, score_piece
from assessments.engine.numberline import figures
from assessments.forms.practice import PieceForm
from assessments.forms.score import FORMS, SubjectForm, UndoForm
from assessments.models import PracticePiece
from assessments.queries.practice_pieces import (
    PieceLine,
    PieceSheet,
    piece_sheet,
    pieces_visible_to,
)
from assessments.queries.scope import may_assess
from assessments.sentences import with_limits
from assessments.views.strip import beside, stages_of
from training.models import CourseRun, Enrolment, Person, Session
from training.queries.scope import enrolments_visible_to
from training.site_time import zone_of
from training.views.refusals import act, act_or_say
from training.views.sent import sent
from training.views.who import person_of

PARTS = ("standard", "session", "recorded_by", "enrolment__person")


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def practice_piece_new(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Record a piece that a trainee made for practice."""
    person = person_of(request)
    enrolment = get_object_or_404(
        enrolments_visible_to(person).select_related("run__program", "run__site", "person"), pk=pk
    )
    _require_teacher(person, enrolment)
    zone = zone_of(enrolment.run.site)
    sessions = _sessions(enrolment.run)
    form = PieceForm(
        sent(request),
        sessions=sessions,
        labels={each.pk: _label(each, zone) for each in sessions},
        today=timezone.localdate(timezone=zone),
    )
    if request.method == "POST" and form.is_valid():
        piece = act(form, record_piece, actor=person, enrolment=enrolment, **form.facts())
        if piece is not None:
            messages.success(request, _("Recorded. Score what you see on it; leave out the rest."))
            return redirect("practice_piece", piece.pk)
    context = {"enrolment": enrolment, "run": enrolment.run, "form": form}
    status = 422 if form.errors else 200
    return render(request, "assessments/progress/piece_new.html", context, status=status)


@require_safe
@never_cache
def practice_piece(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show what was seen on a practice piece; who teaches goes on to score it."""
    person = person_of(request)
    piece = _visible(person, pk)
    context = {
        "piece": piece,
        "enrolment": piece.enrolment,
        "run": piece.enrolment.run,
        "own": piece.enrolment.person_id == person.pk,
        "teaches": _teaches(person, piece.enrolment),
        "sheet": piece_sheet(piece),
    }
    return render(request, "assessments/progress/piece.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def practice_score(request: HttpRequest, pk: uuid.UUID, key: str) -> HttpResponse:
    """Show one criterion of a practice piece and take what is seen of it."""
    person = person_of(request)
    piece = _visible(person, pk)
    _require_teacher(person, piece.enrolment)
    with timezone.override(zone_of(piece.enrolment.run.site)):
        sheet = piece_sheet(piece)
        line = sheet.line(key)
        if line is None:
            raise Http404(f"The standard has no criterion {key}.")
        if request.method == "POST" and "undo" in request.POST:
            return _undo(request, person, piece, line)
        form = _form(request, line)
        if request.method == "POST" and form.is_valid():
            scored = act(
                form,
                score_piece,
                actor=person,
                piece=piece,
                criterion=key,
                value=form.value(),
                note=form.cleaned_data.get("note", ""),
                score_id=form.cleaned_data["observation_id"],
                replaces=form.cleaned_data["replaces"],
            )
            if scored is not None:
                return redirect("practice_score", piece.pk, key)
        context = {**_around(sheet, line), **_about(sheet, line, form)}
        status = 422 if form.errors else 200
        return render(request, "assessments/progress/piece_score.html", context, status=status)


def _visible(person: Person, pk: uuid.UUID) -> PracticePiece:
    rows = pieces_visible_to(person).select_related(
        *PARTS, "enrolment__run__program", "enrolment__run__site"
    )
    return get_object_or_404(rows, pk=pk)


def _teaches(person: Person, enrolment: Enrolment) -> bool:
    return enrolment.person_id != person.pk and may_assess(person, enrolment.run)


def _require_teacher(person: Person, enrolment: Enrolment) -> None:
    if not _teaches(person, enrolment):
        raise PermissionDenied("Only a lead or an instructor of the run scores practice pieces.")


def _sessions(run: CourseRun) -> list[Session]:
    """Return the sessions that began, the latest first (one query)."""
    rows = run.sessions.filter(state=Session.State.PLANNED, starts_at__lte=timezone.now())
    return list(rows.order_by("-starts_at", "id"))


def _label(session: Session, zone: ZoneInfo) -> str:
    day = date_format(timezone.localtime(session.starts_at, zone), "j M Y, H:i")
    return f"{day}: {session.title}"


def _form(request: HttpRequest, line: PieceLine) -> SubjectForm:
    kind = FORMS[line.subject.form_kind]
    initial: dict[str, Any] = {}
    if line.score is not None:
        initial = {"replaces": line.score.pk, "note": line.score.note}
        initial |= kind.initial_of(line.score.value)
    return kind(sent(request), subject=line.subject.document or {}, initial=initial)


def _undo(
    request: HttpRequest, person: Person, piece: PracticePiece, line: PieceLine
) -> HttpResponse:
    form = UndoForm(request.POST)
    if not form.is_valid():
        messages.error(request, _("Nothing was taken back: press the key on this page once more."))
    elif act_or_say(
        request,
        score_piece,
        actor=person,
        piece=piece,
        criterion=line.subject.key,
        value={"cleared": True},
        score_id=form.cleaned_data["observation_id"],
        replaces=form.cleaned_data["replaces"],
    ):
        messages.success(request, _("Taken back: nothing is scored here now."))
    return redirect("practice_score", piece.pk, line.subject.key)


def _around(sheet: PieceSheet, line: PieceLine) -> dict[str, Any]:
    """Return what the strip on top and the bar below show."""
    stages = stages_of(sheet.standard, sheet.lines, line)
    return {
        "piece": sheet.piece,
        "person": sheet.piece.enrolment.person,
        "stages": [each for each in stages if each["lines"]],
        "list_url": reverse("practice_piece", args=[sheet.piece.pk]),
        **beside(sheet.lines, line, partial(_address, sheet)),
    }


def _address(sheet: PieceSheet, line: PieceLine) -> str:
    return reverse("practice_score", args=[sheet.piece.pk, line.subject.key])


def _about(sheet: PieceSheet, line: PieceLine, form: SubjectForm) -> dict[str, Any]:
    criterion, drawn = line.subject.document, None
    value = line.score.value if line.score and "cleared" not in line.score.value else None
    if criterion is not None and line.subject.form_kind == "measured":
        readings = value if value and "readings" in value else None
        drawn = figures(sheet.standard.criterion(line.subject.key), readings)
        criterion = with_limits(criterion, drawn)
    return {
        "line": line,
        "criterion": criterion,
        "stage": sheet.standard.stages[line.subject.stage],
        "form": form,
        "undo": UndoForm(initial={"observation_id": uuid.uuid4()}),
        "current": value,
        "figures": drawn,
        "zone": timezone.get_current_timezone_name(),
    }
