"""A person's own sessions: as a page, and as a stream for a calendar program."""

from datetime import timedelta

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from training.actions.person_feeds import make_person_feed, revoke_person_feed
from training.ical import own_calendar
from training.queries.my_sessions import feed_sessions, live_person_feed, own_sessions, own_waiting
from training.views.who import person_of

EARLIER = timedelta(days=60)


@require_safe
def my_sessions(request: HttpRequest) -> HttpResponse:
    """Show what is to come, what was lately, and where the person waits for a place."""
    person = person_of(request)
    now = timezone.now()
    sessions = own_sessions(person, now - EARLIER)
    return render(
        request,
        "training/calendar/my_sessions.html",
        {
            "coming": [each for each in sessions if each.ends_at > now],
            "earlier": [each for each in sessions if each.ends_at <= now][::-1],
            "waiting": own_waiting(person),
            "feed": person.session_feeds.filter(revoked_at__isnull=True).first(),
        },
    )


@require_POST
@never_cache
def person_feed_make(request: HttpRequest) -> HttpResponse:
    """Make the secret address and show it, this once."""
    _unused, token = make_person_feed(actor=person_of(request))
    address = request.build_absolute_uri(reverse("person_feed", args=[token]))
    answer = render(request, "training/calendar/feed_made.html", {"address": address})
    return _secret(answer)


@require_POST
def person_feed_revoke(request: HttpRequest) -> HttpResponse:
    """Revoke the own address."""
    revoke_person_feed(actor=person_of(request))
    messages.success(
        request, _("The address is revoked. A calendar that reads it gets nothing more.")
    )
    return redirect("my_sessions")


@login_not_required
@require_safe
@never_cache
def person_feed(request: HttpRequest, token: str) -> HttpResponse:
    """Send a person's sessions to whoever has the secret address; nothing tells why not."""
    feed = live_person_feed(token)
    if feed is None:
        answer = render(request, "training/calendar/feed_unknown.html", status=404)
        return _secret(answer)
    stream = own_calendar(
        _("Sessions of {person}").format(person=feed.person),
        feed_sessions(feed.person),
        now=timezone.now(),
    )
    answer = HttpResponse(stream, content_type="text/calendar; charset=utf-8")
    answer["Content-Disposition"] = 'inline; filename="sessions.ics"'
    return _secret(answer)


def _secret(answer: HttpResponse) -> HttpResponse:
    answer["Referrer-Policy"] = "no-referrer"
    answer["Cache-Control"] = "no-store, private"
    answer["X-Robots-Tag"] = "noindex, nofollow, noarchive"
    return answer
