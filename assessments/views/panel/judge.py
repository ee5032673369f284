"""The judge's pages: the own seats, the round's list, one question a screen."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from assessments.actions.panel.judgements import make_judgement
from assessments.actions.panel.judges import stand_down, take_seat
from assessments.forms.panel.judge import DeclarationForm, JudgementForm, form_for
from assessments.forms.panel.lead import ReasonForm
from assessments.models import Judge, Judgement, JudgingRound
from assessments.queries.panel.asked import LIMITS_KEY, RATINGS
from assessments.queries.panel.desk import sections_of
from assessments.queries.panel.pieces import evidence_on
from assessments.queries.panel.scope import seats_of
from assessments.queries.panel.sheet import Line, Sheet, sheet_of, with_limits_worked_out
from training.models import Person
from training.views.refusals import act
from training.views.sent import sent
from training.views.who import person_of

KINDS = Judgement.Subject


@require_safe
def judging(request: HttpRequest) -> HttpResponse:
    """Show the own seats."""
    seats = (
        seats_of(person_of(request))
        .select_related("panel__program__provider")
        .order_by("-invited_at", "-pk")
    )
    return render(request, "assessments/judging/seats.html", {"seats": seats})


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def judging_seat(request: HttpRequest, seat: int) -> HttpResponse:
    """Take the declaration; once seated, show the open round's list and what is missing."""
    person = person_of(request)
    found = _seat(person, seat)
    if found.state == Judge.State.SEATED:
        return _list_page(request, found)
    form = DeclarationForm(sent(request))
    if request.method == "POST" and form.is_valid():
        act(form, take_seat, actor=person, judge=found, **form.cleaned_data)
        if not form.errors:
            messages.success(request, _("You have taken your seat."))
            return redirect("judging_seat", found.pk)
    context = {"seat": found, "panel": found.panel, "form": form}
    status = 422 if form.errors else 200
    return render(request, "assessments/judging/declaration.html", context, status=status)


@require_http_methods(["GET", "HEAD", "POST"])
def judging_stand_down(request: HttpRequest, seat: int) -> HttpResponse:
    """Leave the panel."""
    person = person_of(request)
    found = _seat(person, seat)
    form = ReasonForm(sent(request))
    if request.method == "POST" and form.is_valid():
        act(form, stand_down, actor=person, judge=found, **form.cleaned_data)
        if not form.errors:
            messages.success(request, _("You have stood down from the panel."))
            return redirect("judging")
    context = {"seat": found, "panel": found.panel, "form": form}
    status = 422 if form.errors else 200
    return render(request, "assessments/judging/stand_down.html", context, status=status)


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def judging_subject(request: HttpRequest, seat: int, kind: str, key: str) -> HttpResponse:
    """Ask about one criterion, cell or piece; save, and go on to the next that is missing."""
    return _question(request, seat, kind, key)


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def judging_check(request: HttpRequest, seat: int) -> HttpResponse:
    """Ask for the limits of the sense check."""
    return _question(request, seat, *LIMITS_KEY)


def _seat(person: Person, pk: int) -> Judge:
    seats = seats_of(person).select_related("person", "invited_by", "panel__program__provider")
    return get_object_or_404(seats, pk=pk)


def _list_page(request: HttpRequest, seat: Judge) -> HttpResponse:
    sheet = sheet_of(seat)
    context: dict[str, Any] = {
        "seat": seat,
        "panel": seat.panel,
        "sheet": sheet,
        "lines": [(line, address(seat, line)) for line in sheet.lines],
        "next_url": address(seat, sheet.next_missing()),
        "sections": sections_of(seat.panel, sheet.closed) if sheet.closed else [],
    }
    return render(request, "assessments/judging/list.html", context)


def _question(request: HttpRequest, pk: int, kind: str, key: str) -> HttpResponse:
    person = person_of(request)
    seat = _seat(person, pk)
    sheet = sheet_of(seat) if seat.state == Judge.State.SEATED else None
    if sheet is None or sheet.round is None:
        messages.info(request, _("No round is open on this panel: nothing is entered now."))
        return redirect("judging_seat", seat.pk)
    line = sheet.line(kind, key)
    if line is None:
        if kind == KINDS.CELL:
            messages.info(request, _("You placed no criterion there any more."))
            return redirect("judging_seat", seat.pk)
        raise Http404(_("Nothing is asked about this."))
    form = _form(request, seat, line)
    if request.method == "POST" and form.is_valid():
        after = _save(person, sheet, sheet.round, line, form)
        if after is not None:
            return redirect(after)
    return _question_page(request, sheet, line, form)


def _form(request: HttpRequest, seat: Judge, line: Line) -> JudgementForm:
    kind = form_for(seat.panel.method, line.kind)
    initial = {}
    if line.entry is not None:
        initial = {**kind.initial_of(line.entry.value), "note": line.entry.note}
    return kind(sent(request), initial=initial)


def _save(
    person: Person, sheet: Sheet, round: JudgingRound, line: Line, form: JudgementForm
) -> str | None:
    """Store what was entered; return the address to go on to, None where it was refused."""
    made = act(
        form,
        make_judgement,
        actor=person,
        round=round,
        subject_kind=line.kind,
        subject_key=line.key,
        value=form.value(),
        note=form.cleaned_data["note"],
    )
    if made is None:
        return None
    # Read again: a placement may have brought a cell of the grid into use.
    now = sheet_of(sheet.judge)
    after = now.next_missing(now.line(line.kind, line.key))
    return address(sheet.judge, after) or reverse("judging_seat", args=[sheet.judge.pk])


def _question_page(
    request: HttpRequest, sheet: Sheet, line: Line, form: JudgementForm
) -> HttpResponse:
    seat = sheet.judge
    before, after = sheet.beside(line)
    keep = {} if line.before is None else form.initial_of(line.before.value)
    context = {
        "seat": seat,
        "panel": seat.panel,
        "sheet": sheet,
        "line": line,
        "form": form,
        "number": sheet.lines.index(line) + 1,
        "count": len(sheet.lines),
        "keep": keep,
        "ratings": {rating: _(said) for rating, said in RATINGS.items()},
        "criterion": with_limits_worked_out(sheet, line),
        "evidence": evidence_on(line.key) if line.kind == KINDS.ATTEMPT else [],
        "placed": _placed(sheet, line),
        "list_url": reverse("judging_seat", args=[seat.pk]),
        "previous_url": address(seat, before),
        "next_url": address(seat, after),
    }
    status = 422 if form.errors else 200
    return render(request, "assessments/judging/question.html", context, status=status)


def _placed(sheet: Sheet, line: Line) -> list[str]:
    """Return the titles of the criteria that the judge placed in the cell asked about."""
    if line.kind != KINDS.CELL:
        return []
    return [each.title for each in sheet.lines if each.said and each.said == line.title]


def address(seat: Judge, line: Line | None) -> str:
    """Return where the judge answers a line; empty for none."""
    if line is None:
        return ""
    if (line.kind, line.key) == LIMITS_KEY:
        return reverse("judging_check", args=[seat.pk])
    return reverse("judging_subject", args=[seat.pk, line.kind, line.key])
