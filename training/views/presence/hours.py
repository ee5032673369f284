"""The hours of a run, and its presence on paper."""

import uuid

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from training.documents import PAPERS, Paper, render_pdf
from training.errors import Refused
from training.models import CourseRun, Program
from training.queries.calendar import sessions_visible_to
from training.queries.hours import Hours, hours_of, presence
from training.queries.stays import GRACE
from training.site_time import span, zone_of
from training.views.runs import visible_run
from training.views.who import person_of


@require_safe
def run_hours(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show what everybody attended of a run, against what the program asks."""
    run = visible_run(person_of(request), pk)
    return render(request, "training/presence/hours.html", _told(run, hours_of(run)))


@require_safe
def run_hours_pdf(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Send the hours of a run as a PDF."""
    run = visible_run(person_of(request), pk)
    title = _("Hours of {title}, {site}").format(title=run.program.title, site=run.site)
    context = _told(run, hours_of(run))
    return _pdf(request, run, "training/presence/hours_pdf.html", context, title)


@require_safe
def session_sheet(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Send the sheet of a session: what is noted, and room to write where nothing is."""
    sessions = sessions_visible_to(person_of(request))
    session = get_object_or_404(
        sessions.select_related("run__site", "run__program__provider", "module", "place"), pk=pk
    )
    zone = zone_of(session.run.site)
    context = {
        "session": session,
        "run": session.run,
        "zone": zone.key,
        "when": span(session.starts_at, session.ends_at, zone),
        "day": session.starts_at.astimezone(zone).date(),
        "rows": presence(session),
        "grace": round(GRACE.total_seconds() / 60),
    }
    title = _("Presence at {title}").format(title=session.title)
    return _pdf(request, session.run, "training/presence/sheet_pdf.html", context, title)


def _told(run: CourseRun, hours: Hours) -> dict[str, object]:
    rows = [
        (
            person,
            [
                (module, person.by_module[module.pk], person.by_module[module.pk] < module.minutes)
                for module in hours.modules
            ],
        )
        for person in hours.people
    ]
    return {
        "run": run,
        "zone": run.site.time_zone,
        "hours": hours,
        "rows": rows,
        "modules": [(each, hours.planned[each.pk]) for each in hours.modules],
        "short_planned": [
            (each, hours.planned[each.pk])
            for each in hours.modules
            if hours.planned[each.pk] < each.minutes
        ],
        "others": any(person.other for person in hours.people),
        "lacking": sum(1 for person in hours.people if person.lost_minutes),
        "grace": round(GRACE.total_seconds() / 60),
    }


def _pdf(
    request: HttpRequest, run: CourseRun, template: str, context: dict[str, object], title: str
) -> HttpResponse:
    try:
        pdf = render_pdf(template, context, paper=_paper(request, run.program), title=title)
    except Refused as refused:
        messages.error(request, refused.message)
        return redirect("run_hours", run.pk)
    headers = {
        "Content-Disposition": 'inline; filename="presence.pdf"',
        "Cache-Control": "no-store",
    }
    return HttpResponse(pdf, content_type="application/pdf", headers=headers)


def _paper(request: HttpRequest, program: Program) -> Paper:
    """Return the paper asked for; else A4 where the program measures in mm, and letter."""
    asked = request.GET.get("paper")
    found = next((each for each in PAPERS if each == asked), None)
    return found or ("a4" if program.unit == Program.Unit.MILLIMETRE else "letter")
