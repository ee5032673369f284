"""Saying of a note of the site log which criteria and hold points of an attempt it shows."""

import uuid

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from assessments.actions.logged import show_as_evidence
from assessments.forms.logged import ShowsForm
from assessments.models import Attempt
from assessments.queries.scope import attempts_assessable_by
from assessments.subjects import subjects_of
from assessments.views.logged.common import log_entry, zone_of
from training.queries.sitelog_scope import keeps_log
from training.views.refusals import act
from training.views.sent import sent
from training.views.who import person_of


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def log_note_shows(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Choose the attempt (``?attempt=``), then what of it the note shows."""
    person = person_of(request)
    entry = log_entry(person, pk)
    run = entry.note.run
    if not keeps_log(person, run):
        raise PermissionDenied(_("Only a lead or an instructor of the run says what a note shows."))
    attempts = (
        attempts_assessable_by(person)
        .filter(enrolment__run=run, state=Attempt.State.OPEN)
        .select_related("enrolment__person", "standard")
        .order_by("enrolment__person__full_name")
    )
    asked = request.GET.get("attempt", "")
    context = {"run": run, "entry": entry, "attempts": attempts}
    if not asked:
        with timezone.override(zone_of(run)):
            return render(request, "assessments/logged/shows.html", context)
    attempt = get_object_or_404(
        attempts_assessable_by(person).filter(enrolment__run=run), pk=_key(asked)
    )
    subjects = [
        (f"{each.kind}:{each.key}", each.title) for each in subjects_of(attempt.standard.document)
    ]
    form = ShowsForm(sent(request), subjects=subjects)
    if request.method == "POST" and form.is_valid():
        made = act(
            form,
            show_as_evidence,
            actor=person,
            note=entry.note,
            attempt=attempt,
            subjects=form.chosen(),
        )
        if made is not None:
            messages.success(
                request,
                _("The note stands at the attempt of {person}.").format(
                    person=attempt.enrolment.person
                ),
            )
            return redirect("log_note", entry.first.pk)
    context |= {"attempt": attempt, "form": form}
    with timezone.override(zone_of(run)):
        status = 422 if form.errors else 200
        return render(request, "assessments/logged/shows.html", context, status=status)


def _key(text: str) -> uuid.UUID | None:
    try:
        return uuid.UUID(text)
    except ValueError:
        return None
