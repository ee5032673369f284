"""The register for a spreadsheet, and its days for a calendar program."""

import uuid

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, StreamingHttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from certificates.actions.feeds import make_feed, revoke_feed
from certificates.calendar import crew_calendar
from certificates.crew_tables import csv_lines, xlsx
from certificates.models import CalendarFeed
from certificates.queries.crew import register_rows
from certificates.queries.feeds import events_of, live_feed
from certificates.views.answers import unlisted
from certificates.views.crew import filter_of, manager_of, register
from training.models import Organisation
from training.queries.scope import contractor_organisations
from training.reader import reading_as
from training.views.who import person_of

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


@require_safe
@never_cache
def crew_csv(request: HttpRequest) -> HttpResponseBase:
    """Send every row of the filter as CSV, line by line; with a fault in it, show the page."""
    return _table(request, "csv")


@require_safe
@never_cache
def crew_xlsx(request: HttpRequest) -> HttpResponseBase:
    """Send every row of the filter as a workbook; with a fault in it, show the page."""
    return _table(request, "xlsx")


def _table(request: HttpRequest, kind: str) -> HttpResponseBase:
    person, employers = manager_of(request)
    form = filter_of(request, person, employers)
    asked = form.asked()
    if form.errors:
        return register(request, person, employers, form)
    day = asked.at or timezone.localdate()
    headers = {"Content-Disposition": f'attachment; filename="crew-{day:%Y-%m-%d}.{kind}"'}
    rows = register_rows(person, asked)
    if kind == "csv":
        return StreamingHttpResponse(
            csv_lines(rows), content_type="text/csv; charset=utf-8", headers=headers
        )
    names = ", ".join(each.name for each in employers)
    title = f"Crew of {names}, as at {day.day} {day:%B %Y}"
    return HttpResponse(xlsx(rows, title), content_type=XLSX, headers=headers)


@require_POST
@never_cache
def crew_feed_make(request: HttpRequest) -> HttpResponse:
    """Make a calendar address and show it, this once."""
    person = manager_of(request)[0]
    # A number too long for a key, or no number, is nobody's organisation.
    text = request.POST.get("organisation", "")[:18]
    organisation = get_object_or_404(
        contractor_organisations(person), pk=int(text) if text.isdecimal() else 0
    )
    feed, token = make_feed(actor=person, organisation=organisation)
    context = {
        "feed": feed,
        "address": request.build_absolute_uri(reverse("crew_feed", args=[token])),
    }
    return unlisted(render(request, "certificates/crew/register/feed_made.html", context))


@require_POST
def crew_feed_revoke(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Revoke an own calendar address."""
    person = person_of(request)
    feed = get_object_or_404(CalendarFeed, pk=pk, person=person)
    revoke_feed(actor=person, feed=feed)
    messages.success(
        request, _("The address is revoked. A calendar that reads it gets nothing more.")
    )
    return redirect("crew" if _manages(feed.organisation, request) else "home")


def _manages(organisation: Organisation, request: HttpRequest) -> bool:
    return contractor_organisations(person_of(request)).filter(pk=organisation.pk).exists()


@login_not_required
@require_safe
@never_cache
def crew_feed(request: HttpRequest, token: str) -> HttpResponse:
    """Send the calendar of a crew to whoever has its secret address; nothing tells why not."""
    feed = live_feed(token)
    if feed is None:
        answer = render(request, "certificates/crew/register/feed_unknown.html", status=404)
    else:
        with reading_as(feed.person):
            name = _("Crew of {employers}").format(employers=feed.organisation)
            stream = crew_calendar(name, events_of(feed))
        answer = HttpResponse(stream, content_type="text/calendar; charset=utf-8")
        answer["Content-Disposition"] = 'inline; filename="crew.ics"'
    answer["Referrer-Policy"] = "no-referrer"
    answer["Cache-Control"] = "no-store, private"
    return unlisted(answer)
