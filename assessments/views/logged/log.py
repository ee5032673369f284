"""The site log of a run, day by day, and one day of it on paper."""

import uuid
from datetime import date
from typing import Any

from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from assessments.queries.logged_days import KINDS, Filters, shown_days, shows_of, stages_of
from assessments.views.logged.common import log_run, zone_of
from assessments.views.logged.paper import pictures_for_paper
from assessments.views.paper import paper_for
from training.dates import day_text
from training.documents import render_pdf
from training.errors import Refused
from training.fixture_texts import reader_language
from training.models import CourseRun, Person
from training.queries.sitelog_scope import keeps_log, writes_notes
from training.views.who import person_of

PAGE = 7  # days


@require_safe
@never_cache
def run_log(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show the log: the latest day first, of one stage, place or kind if asked."""
    person = person_of(request)
    run = log_run(person, pk)
    return _page(request, person, run)


def _page(
    request: HttpRequest, person: Person, run: CourseRun, refused: str = "", status: int = 200
) -> HttpResponse:
    stages = stages_of(run)
    filters = _filters(request, stages)
    with timezone.override(zone_of(run)):
        days = shown_days(run, person, filters)
        page = Paginator(days, PAGE).get_page(request.GET.get("page"))
        keeps = keeps_log(person, run)
        context: dict[str, Any] = {
            "run": run,
            "page": page,
            "stages": stages,
            "titles": dict(stages),
            "kinds": [(key, _(title)) for key, title in KINDS],
            "filters": filters,
            "query": _query(filters),
            "keeps": keeps,
            "writes": writes_notes(person, run),
            "shows": _shows(page.object_list) if keeps else {},
            "now": timezone.now(),
            "refused": refused,
        }
        return render(request, "assessments/logged/log.html", context, status=status)


@require_safe
@never_cache
def run_log_day(request: HttpRequest, pk: uuid.UUID, day: str) -> HttpResponse:
    """Send one day of the log as a PDF; ``day`` is year-month-day."""
    person = person_of(request)
    run = log_run(person, pk)
    try:
        asked = date.fromisoformat(day)
    except ValueError:
        raise Http404(_("This is no day.")) from None
    with timezone.override(zone_of(run)):
        shown = next((each for each in shown_days(run, person) if each.day == asked), None)
        if shown is None:
            raise Http404(_("The log has nothing of this day."))
        context = {
            "run": run,
            "day": shown,
            "titles": dict(stages_of(run)),
            "pictures": pictures_for_paper(shown.entries),
            "now": timezone.now(),
        }
        try:
            pdf = render_pdf(
                "documents/site_log_day.html",
                context,
                paper=paper_for(request.GET.get("paper"), run.program),
                title=_("Site log of {site}, {day}").format(site=run.site, day=day_text(asked)),
                language=reader_language(),
            )
        except Refused as refused:
            return _page(request, person, run, refused.message, 400)
    headers = {"Content-Disposition": f'inline; filename="site-log-{asked.isoformat()}.pdf"'}
    return HttpResponse(pdf, content_type="application/pdf", headers=headers)


def _filters(request: HttpRequest, stages: list[tuple[str, str]]) -> Filters:
    stage, kind = request.GET.get("stage", ""), request.GET.get("kind", "")
    return Filters(
        stage=stage if stage in dict(stages) else "",
        grid=" ".join(request.GET.get("grid", "")[:40].split()),
        kind=kind if kind in dict(KINDS) else "",
    )


def _query(filters: Filters) -> str:
    asked = {"stage": filters.stage, "grid": filters.grid, "kind": filters.kind}
    words = urlencode({name: value for name, value in asked.items() if value})
    return f"&{words}" if words else ""


def _shows(days: Any) -> dict[uuid.UUID, int]:
    """Return of how many subjects each note is evidence, by the note as it stands."""
    entries = [entry for day in days for entry in day.entries]
    current = {note.pk: entry.note.pk for entry in entries for note in (*entry.earlier, entry.note)}
    counted: dict[uuid.UUID, int] = {}
    for row in shows_of(entries):
        key = current[row.evidence.note_id]
        counted[key] = counted.get(key, 0) + 1
    return counted
