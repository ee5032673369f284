"""The calendar of a run, and sending it to who takes part."""

import uuid

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST, require_safe

from training.actions.publishing import publish_calendar
from training.queries.calendar import by_day, by_week, is_published, sessions_of
from training.queries.planned import crowded, planned_minutes
from training.queries.scope import is_lead
from training.queries.waiting import places_of
from training.views.refusals import act_or_say
from training.views.runs import visible_run
from training.views.who import person_of


@require_safe
def run_calendar(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show the sessions of a run: by day on a phone, by weeks where there is room."""
    person = person_of(request)
    run = visible_run(person, pk)
    sessions = list(sessions_of(run, cancelled=True))
    places = places_of(run)
    leads = is_lead(person, run.program.provider)
    return render(
        request,
        "training/calendar/calendar.html",
        {
            "run": run,
            "zone": run.site.time_zone,
            "weeks": by_week(by_day(run, sessions)),
            "sessions": sessions,
            "crowded": crowded(sessions, places.enrolled),
            "modules": planned_minutes(run, sessions),
            "places": places,
            "published": is_published(run),
            "leads": leads,
            "may_plan": leads and run.state != "closed",
        },
    )


@require_POST
def calendar_publish(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Invite who takes part."""
    person = person_of(request)
    run = visible_run(person, pk)
    number = act_or_say(request, publish_calendar, actor=person, run=run)
    if number is not None:
        messages.success(
            request,
            ngettext(
                "1 session is sent to everybody who takes part. Changes will be sent as well.",
                "{count} sessions are sent to everybody who takes part. Changes will be sent as "
                "well.",
                number,
            ).format(count=number),
        )
    return redirect("run_calendar", run.pk)
