"""A note of the site log: writing, reading and correcting it, and its photographs."""

import uuid
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from assessments.forms.logged import FACTS, NoteForm, PhotographsForm
from assessments.queries.logged import log_photo_visible_to
from assessments.queries.logged_days import shows_of, stages_of
from assessments.views.logged.common import (
    changes_note,
    log_entry,
    log_run,
    require_changes,
    without_consent,
    zone_of,
)
from training.actions.sitelog import add_photographs, correct_note, write_note
from training.forms.photo_rows import PhotoRows
from training.models import LogNote
from training.queries.sitelog import photo_bytes
from training.queries.sitelog_scope import keeps_log, writes_notes
from training.views.refusals import act
from training.views.sent import sent
from training.views.who import person_of

METHODS = ["GET", "HEAD", "POST"]


@require_http_methods(METHODS)
@never_cache
def run_log_write(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Take a note with its photographs; where something is wrong, everything sent is kept."""
    person = person_of(request)
    run = log_run(person, pk)
    if not writes_notes(person, run):
        raise PermissionDenied(_("Notes are written while the run is open."))
    with timezone.override(zone_of(run)):
        now = timezone.localtime().replace(second=0, microsecond=0)
        stages = stages_of(run)
        form = NoteForm(sent(request), stages=stages, initial={"at": now})
        rows = PhotoRows(request, person, form_key(request, "note"))
        if request.method == "POST" and form.is_valid() & rows.is_valid():
            note = act(
                form,
                write_note,
                actor=person,
                run=run,
                facts=form.facts(),
                photographs=rows.photographs(),
                note_id=form.cleaned_data["note"],
            )
            if note is not None:
                rows.forget()
                messages.success(request, _("The note is in the log."))
                return redirect("log_note", note.pk)
        context = {"run": run, "form": form, "keeps": keeps_log(person, run)}
        return _with_rows(request, "assessments/logged/write.html", context, rows)


@require_safe
@never_cache
def log_note(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show a note as it stands, what it said before, and what it is evidence of."""
    person = person_of(request)
    entry = log_entry(person, pk)
    run = entry.note.run
    keeps = keeps_log(person, run)
    with timezone.override(zone_of(run)):
        context = {
            "run": run,
            "entry": entry,
            "titles": dict(stages_of(run)),
            "changes": changes_note(person, entry),
            "keeps": keeps,
            "evidence": shows_of([entry]) if keeps else [],
        }
        return render(request, "assessments/logged/note.html", context)


@require_http_methods(METHODS)
@never_cache
def log_note_correct(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Take what the note says from now on; what it said stays to be read."""
    person = person_of(request)
    entry = log_entry(person, pk)
    note = require_changes(person, entry)
    run = note.run
    with timezone.override(zone_of(run)):
        form = NoteForm(sent(request), stages=stages_of(run), initial=_said(note))
        if request.method == "POST" and form.is_valid():
            # The note that was shown is corrected, not one that came meanwhile.
            shown = LogNote.objects.filter(pk=form.cleaned_data["note"], run=run).first()
            if shown is None or shown.pk not in {note.pk, *(old.pk for old in entry.earlier)}:
                raise Http404(_("This is no note of this page."))
            shown.run = run
            if act(form, correct_note, actor=person, note=shown, facts=form.facts()):
                messages.success(
                    request, _("The note is corrected. What it said before stays below.")
                )
                return redirect("log_note", entry.first.pk)
        context = {"run": run, "entry": entry, "form": form}
        status = 422 if form.errors else 200
        return render(request, "assessments/logged/correct.html", context, status=status)


@require_http_methods(METHODS)
@never_cache
def log_note_photographs(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Take more photographs of a note."""
    person = person_of(request)
    entry = log_entry(person, pk)
    note = require_changes(person, entry)
    with timezone.override(zone_of(note.run)):
        form = PhotographsForm(sent(request))
        rows = PhotoRows(request, person, form_key(request, "note"))
        if request.method == "POST" and form.is_valid() & rows.is_valid():
            added = act(
                form, add_photographs, actor=person, note=note, photographs=rows.photographs()
            )
            if added is not None:
                rows.forget()
                messages.success(
                    request, _("Photographs added: {added_count}.").format(added_count=len(added))
                )
                return redirect("log_note", entry.first.pk)
        keeps = keeps_log(person, note.run)
        context = {"run": note.run, "entry": entry, "form": form, "keeps": keeps}
        return _with_rows(request, "assessments/logged/photographs.html", context, rows)


@require_safe
@never_cache
def log_photo(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Send a photograph to who may see its note, or the decided attempt that rests on it."""
    photo = log_photo_visible_to(person_of(request), pk)
    content = photo_bytes(photo) if photo is not None else None
    if content is None:
        raise Http404(_("There is no such photograph."))
    response = HttpResponse(content, content_type="image/jpeg")
    response["X-Content-Type-Options"] = "nosniff"
    response["Content-Disposition"] = f'inline; filename="{pk}.jpg"'
    return response


def form_key(request: HttpRequest, name: str) -> uuid.UUID:
    """Return the id that the form was shown with; a new one where none can be read."""
    try:
        return uuid.UUID(request.POST.get(name, ""))
    except ValueError:
        return uuid.uuid4()


def _said(note: LogNote) -> dict[str, Any]:
    said = {name: getattr(note, name) for name in FACTS}
    for name in ("air_celsius", "wall_celsius"):
        said[name] = "" if said[name] is None else f"{said[name]} °C"
    return {**said, "note": note.pk}


def _with_rows(
    request: HttpRequest, template: str, context: dict[str, Any], rows: PhotoRows
) -> HttpResponse:
    """Show the form with its rows; what was sent and can be read is kept until it is mended."""
    faulty = bool(context["form"].errors or rows.faulty)
    if request.method == "POST":
        rows.keep_aside()
    people = without_consent(context["run"]) if context["keeps"] else []
    return render(
        request,
        template,
        {**context, "rows": rows, "unasked": people},
        status=422 if faulty else 200,
    )
