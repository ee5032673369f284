"""One session at the desk: its code, who was there, corrections, and the sheet on paper."""

import uuid

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from training.actions.attendance import note_many, note_presence
from training.actions.attendance_code import current_code
from training.documents.qr import qr_svg
from training.errors import Refused
from training.forms.presence import ManyForm, PresenceForm
from training.models import Attendance, Enrolment, Person, Session
from training.queries.attendance import session_page, totals_of
from training.queries.calendar import sessions_visible_to
from training.queries.hours import presence
from training.queries.stays import GRACE
from training.site_time import span, zone_of
from training.views.refusals import act
from training.views.sent import sent
from training.views.who import person_of

REFRESH = 45  # seconds; a code that was shown goes on to hold for minutes


@require_http_methods(["GET", "HEAD", "POST"])
def session_presence(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show who was there; POST notes the same of several people at once."""
    person = person_of(request)
    session = _visible(person, pk)
    page = session_page(session)
    # A second press of the same form names people who are noted by now: that is no mistake.
    told = [row for row in page.rows if request.method == "POST" or not row.noted]
    people = [row.person for row in told]
    form = ManyForm(sent(request), session=session, zone=page.zone, people=people)
    if request.method == "POST" and form.is_valid():
        values = form.cleaned_data
        noted = act(
            form,
            note_many,
            actor=person,
            session=session,
            people=list(values["people"]),
            kind=values["kind"],
            at=values["at"],
        )
        if noted is not None:
            messages.success(
                request,
                ngettext("Noted of 1 person.", "Noted of {count} people.", len(noted)).format(
                    count=len(noted)
                ),
            )
            return redirect("session_presence", session.pk)
    context = {
        **_about(session),
        "page": page,
        "form": form if people or form.errors else None,
    }
    status = 422 if form.errors else 200
    return render(request, "training/presence/session.html", context, status=status)


@never_cache
@require_safe
def session_code(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show the code for the wall; the page loads itself anew."""
    person = person_of(request)
    session = _visible(person, pk)
    context: dict[str, object] = {**_about(session), "refresh": REFRESH}
    try:
        code = current_code(actor=person, session=session)
    except Refused as refused:
        context["refusal"] = refused.message
    else:
        address = f"{settings.BASE_URL}{reverse('presence_sign_in', args=[code.token])}"
        title = _("QR code that leads to {address}, where trainees sign in").format(address=address)
        context |= {
            "code": code,
            "token": f"{code.token[:4]} {code.token[4:]}",
            "typed_at": f"{settings.BASE_URL}{reverse('presence_code')}",
            "picture": mark_safe(qr_svg(address, title=title)),
            "totals": totals_of(presence(session)),
            "enrolled": session.run.enrolments.filter(state=Enrolment.State.ENROLLED).count(),
        }
    return render(request, "training/presence/wall.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def presence_note(request: HttpRequest, pk: uuid.UUID, person_id: int) -> HttpResponse:
    """Note how one person was present."""
    session = _visible(person_of(request), pk)
    places = session.run.enrolments.exclude(state=Enrolment.State.WAITING)
    place = get_object_or_404(places.select_related("person"), person=person_id)
    return _note(request, session, place.person, None)


@require_http_methods(["GET", "HEAD", "POST"])
def presence_correct(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Correct one row: a new row takes its place and says why."""
    sessions = sessions_visible_to(person_of(request)).values("pk")
    rows = Attendance.objects.filter(session__in=sessions).select_related("person")
    row = get_object_or_404(rows, pk=pk)
    if Attendance.objects.filter(replaces=row).exists() and request.method != "POST":
        messages.error(request, _("This was corrected already. Correct the row that stands now."))
        return redirect("session_presence", row.session_id)
    return _note(request, _visible(person_of(request), row.session_id), row.person, row)


def _note(
    request: HttpRequest, session: Session, person: Person, corrects: Attendance | None
) -> HttpResponse:
    zone = zone_of(session.run.site)
    form = PresenceForm(sent(request), session=session, zone=zone, corrects=corrects)
    if request.method == "POST" and form.is_valid():
        values = form.cleaned_data
        row = act(
            form,
            note_presence,
            actor=person_of(request),
            session=session,
            person=person,
            kind=values["kind"],
            at=values["at"],
            note=values["note"],
            replaces=corrects,
            id=values["id"],
        )
        if row is not None:
            messages.success(request, f"{person}: {row.get_kind_display().lower()}.")
            return redirect("session_presence", session.pk)
    context = {**_about(session), "form": form, "person": person, "corrects": corrects}
    status = 422 if form.errors else 200
    return render(request, "training/presence/note.html", context, status=status)


def _visible(person: Person, pk: uuid.UUID) -> Session:
    sessions = sessions_visible_to(person).select_related(
        "run__site", "run__program__provider", "module", "place"
    )
    return get_object_or_404(sessions, pk=pk)


def _about(session: Session) -> dict[str, object]:
    zone = zone_of(session.run.site)
    return {
        "session": session,
        "run": session.run,
        "zone": zone.key,
        "when": span(session.starts_at, session.ends_at, zone),
        "day": session.starts_at.astimezone(zone).date(),
        "grace": round(GRACE.total_seconds() / 60),
        "over": session.ends_at <= timezone.now(),
    }
