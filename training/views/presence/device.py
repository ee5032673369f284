"""Noting presence on an instructor's device, also without a signal: page, worker and exchange."""

import json
from collections.abc import Callable
from functools import wraps
from typing import Any

from django.contrib.auth.decorators import login_not_required
from django.db import OperationalError
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.templatetags.static import static
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import ensure_csrf_cookie
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_safe

from training.actions.attendance_sent import clock_off, moment, receive_presence
from training.models import Person
from training.queries.attendance import roster
from training.shell import fresh, integrity, kept_page, scripts_of, served, worker_script

PAGE = "training/presence/shell.html"
ENTRY = "presence/app.js"
WORKER = "presence/worker.js"
OTHER_FILES = (
    "css/score.css",
    "css/site-fonts.css",
    "css/site.css",
    "fonts/commissioner/commissioner-latin-ext-site.woff2",
    "fonts/commissioner/commissioner-latin-site.woff2",
    "img/favicon.svg",
    "presence/presence.css",
)
MOST_ROWS = 200
LARGEST = 256 * 1024  # bytes of a batch
SIGN_IN = N_("Sign in on this device first. What was noted stays on it.")
OTHER = N_(
    "Somebody else is signed in. Who noted this sends it; it stays on the device until then."
)
UNREADABLE = 'Send {"by": who noted it, "sent_at": the device\'s clock, "rows": […]} as JSON.'
BUSY = N_("The server is busy just now. What was sent stays on the device and is sent again.")

View = Callable[[HttpRequest], HttpResponse]


@login_not_required
@require_safe
@gzip_page
def presence_site(request: HttpRequest) -> HttpResponse:
    """Answer the empty page that the scripts fill. It holds no data: the device keeps it."""
    return fresh(HttpResponse(kept_page(PAGE)))


@login_not_required
@require_safe
@gzip_page
def presence_worker(request: HttpRequest) -> HttpResponse:
    """Answer the service worker with the list of files that it keeps, each with its digest."""
    files = shell_files()
    script = worker_script(WORKER, files)
    return fresh(HttpResponse(script, content_type="text/javascript; charset=utf-8"))


def shell_files() -> list[tuple[str, str]]:
    """Return (path, digest of what is answered there) of each file that the device keeps."""
    page = (reverse("presence_site"), integrity(kept_page(PAGE).encode()))
    names = [*OTHER_FILES, *scripts_of(ENTRY)]
    return [page, *((static(name), integrity(served(name))) for name in names)]


def _for_device(view: Callable[[HttpRequest, Person], HttpResponse]) -> View:
    """Give the view who is signed in; nobody is answered as JSON, with no redirect."""

    @login_not_required
    @never_cache
    @ensure_csrf_cookie
    @wraps(view)
    def answered(request: HttpRequest) -> HttpResponse:
        if not isinstance(request.user, Person):
            return _answer(401, _(SIGN_IN))
        return view(request, request.user)

    answered.answers_json = True  # type: ignore[attr-defined]  # read where CSRF fails
    return answered


@_for_device
def presence_roster(request: HttpRequest, person: Person) -> HttpResponse:
    """Answer the sessions that the person may note presence in, with their people."""
    if request.method not in ("GET", "HEAD"):
        return _answer(405, _("Only GET is answered here."), Allow="GET, HEAD")
    return JsonResponse(roster(person))


@_for_device
def presence_events(request: HttpRequest, person: Person) -> HttpResponse:
    """Take in a batch {by, sent_at, rows}; answers {results, clock, now}.

    409 where another person is signed in than the one who noted the rows, 413 for too much, 415
    for another type than JSON, 422 for what cannot be read, 503 when the database asks to try
    again.
    """
    if request.method != "POST":
        return _answer(405, _("Only POST is answered here."), Allow="POST")
    if request.content_type != "application/json":
        return _answer(415, _("Send this as application/json."))
    data = request.read(LARGEST + 1)
    if len(data) > LARGEST:
        return _answer(413, _("Send at most {largest} bytes at a time.").format(largest=LARGEST))
    sent = _json(data)
    rows = sent.get("rows") if isinstance(sent, dict) else None
    sent_at = moment(sent.get("sent_at")) if isinstance(sent, dict) else None
    if not isinstance(rows, list) or sent_at is None:
        return _answer(422, UNREADABLE)
    if sent.get("by") != str(person.pk):
        return _answer(409, _(OTHER))
    if len(rows) > MOST_ROWS:
        return _answer(
            413, _("Send at most {most_rows} rows at a time.").format(most_rows=MOST_ROWS)
        )
    now = timezone.now()
    try:
        answers = receive_presence(actor=person, rows=rows, sent_at=sent_at, now=now)
    except OperationalError:  # such as a deadlock: nothing is stored, so all of it can come again
        return _answer(503, _(BUSY), **{"Retry-After": "5"})
    return JsonResponse(
        {
            "results": [each.document() for each in answers],
            "clock": clock_off(sent_at, now),
            "now": now.isoformat(),
        }
    )


def _json(data: bytes) -> Any:
    try:
        return json.loads(data)
    except (ValueError, RecursionError):
        return None


def _answer(status: int, sentence: str, **headers: str) -> JsonResponse:
    return JsonResponse({"sentence": sentence}, status=status, headers=headers)
