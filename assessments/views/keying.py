"""Keying in a score sheet that was filled in on paper, and the sheet itself."""

import uuid
from contextlib import suppress
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from assessments.actions.pages import device_of
from assessments.actions.paper import key_in
from assessments.forms.paper import PaperForm, PaperForms
from assessments.models import Attempt, PaperSheet
from assessments.queries.paper import assessors_keyed_for, sheets_visible_to
from assessments.queries.score_paper import needed_of
from assessments.queries.sheet import score_sheet
from assessments.queries.task_sheet import sheet_of
from assessments.views.attempts import assessable_attempt
from training.errors import Refused
from training.models import Person
from training.scans import Scan, drop_scan, held_scan, hold_scan
from training.views.refusals import show
from training.views.sent import sent
from training.views.who import person_of


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def attempt_paper(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Take everything that stands on a sheet of paper, with the photograph or scan of it.

    ``?for=`` names the instructor for whom a lead keys in.
    """
    person = person_of(request)
    attempt = assessable_attempt(person, pk)
    if attempt.state != Attempt.State.OPEN:
        messages.info(request, _("This attempt is signed off: nothing more is scored."))
        return redirect("attempt", attempt.pk)
    people = assessors_keyed_for(person, attempt)
    assessor = _assessor(request, people)
    with timezone.override(ZoneInfo(attempt.enrolment.run.site.time_zone)):
        task = sheet_of(attempt.enrolment.run.program, attempt.standard.document)
        sheet = score_sheet(attempt, assessor)
        parts = PaperForms(sheet, needed_of(task), sent(request))
        form = PaperForm()
        if request.method == "POST":
            form, scan = _sent_form(request, person)
            if _key_in(request, person, attempt, assessor, scan, form, parts):
                return redirect("attempt_score" if assessor == person else "attempt", attempt.pk)
        context = {
            "attempt": attempt,
            "person": attempt.enrolment.person,
            "people": people,
            "assessor": assessor,
            "form": form,
            "parts": parts,
            "zone": attempt.enrolment.run.site.time_zone,
        }
        status = 422 if form.errors or parts.faulty else 200
        return render(request, "assessments/keying.html", context, status=status)


def _assessor(request: HttpRequest, people: list[Person]) -> Person:
    """Return who scored on the sheet: the first of ``people``, or the one who is asked for."""
    asked = request.GET.get("for")
    if asked is None:
        return people[0]
    for each in people:
        if str(each.pk) == asked:
            return each
    raise Http404(_("Nobody whose sheet you may key in has this number."))


def _sent_form(request: HttpRequest, person: Person) -> tuple[PaperForm, Scan | None]:
    """Return the form as sent and its scan, or the one held since it was sent before."""
    held = None
    with suppress(ValueError):  # the form says so at its field
        held = held_scan(person, uuid.UUID(request.POST.get("sheet", "")))
    form = PaperForm(request.POST, request.FILES, held=held is not None)
    form.is_valid()
    return form, form.cleaned_data.get("file") or held


def _key_in(
    request: HttpRequest,
    person: Person,
    attempt: Attempt,
    assessor: Person,
    scan: Scan | None,
    form: PaperForm,
    parts: PaperForms,
) -> bool:
    """Key the sheet in; where something is wrong, say so in the forms and hold the scan."""
    # Both are asked, so that every fault is shown at once.
    if (form.is_valid() & parts.is_valid()) and scan is not None:
        try:
            sheet = key_in(
                actor=person,
                attempt=attempt,
                assessor=assessor,
                device=device_of(request.session),
                sheet=form.cleaned_data["sheet"],
                scored_at=form.cleaned_data["scored_at"],
                scan=scan,
                entries=parts.entries(),
            )
        except Refused as refused:
            if not parts.show(refused):
                show(form, refused)
        else:
            drop_scan(person, sheet.pk)
            messages.success(
                request,
                _("Keyed in from paper: {readings} entries.").format(
                    readings=sheet.readings.count()
                ),
            )
            return True
    if scan is not None and "sheet" in form.cleaned_data:
        hold_scan(person, form.cleaned_data["sheet"], scan)
        form.say_held()
    return False


@require_safe
@never_cache
def paper_sheet(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Send the photograph or scan of a sheet to who may see it."""
    sheet = get_object_or_404(sheets_visible_to(person_of(request)), pk=pk)
    with sheet.file.open("rb") as file:
        content = file.read()
    # A PDF may hold more than a picture: it is saved, not opened beside the pages.
    shown = "attachment" if sheet.kind == PaperSheet.Kind.PDF else "inline"
    name = f"paper-sheet-{sheet.pk}.{sheet.get_kind_display().lower()}"
    headers = {"Content-Disposition": f'{shown}; filename="{name}"'}
    return HttpResponse(content, content_type=sheet.kind, headers=headers)
