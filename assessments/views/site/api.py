"""What devices on site ask of the server: runs to take up, packs, and the batches they send."""

import json
import uuid
from collections.abc import Callable
from functools import wraps
from typing import Any, Concatenate, NoReturn, ParamSpec

from django.contrib.auth.decorators import login_not_required
from django.core.exceptions import PermissionDenied
from django.db import OperationalError
from django.db.models import Count, Q
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_
from django.views.csrf import csrf_failure as page_of_failure
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import csrf_exempt, ensure_csrf_cookie

from assessments.actions.site.batches import receive_sent
from assessments.actions.site.pace import BATCHES
from assessments.actions.site.packs import renew_pack, take_pack, token_of
from assessments.models import Pack
from assessments.queries.site.pack_document import pack_document, run_document
from assessments.views.site.photos import answer, later, sent_by_device
from training.errors import Refused
from training.models import CourseRun, Enrolment, Person
from training.queries.scope import runs_visible_to

P = ParamSpec("P")
JSON = "application/json"
LARGEST_BATCH = 2 * 1024 * 1024
MOST_EVENTS = 500
MOST_DIGITS = 400
STALE = N_(
    "This page is older than your sign-in. Open it anew while there is a signal, then go on."
)
SIGN_IN = N_("Sign in first, then take up the run again.")
NO_RUN = N_("There is no such run that you may take up.")
BUSY = N_("The server is busy just now. What was sent stays on the device and is sent again.")


def for_person(
    view: Callable[Concatenate[HttpRequest, Person, P], HttpResponse],
) -> Callable[..., HttpResponse]:
    """Give the view the person signed in; what goes wrong is answered as JSON, with no redirect."""

    @login_not_required
    @never_cache
    @ensure_csrf_cookie
    @wraps(view)
    def answered(request: HttpRequest, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
        if not isinstance(request.user, Person):
            return answer(401, _(SIGN_IN))
        try:
            return view(request, request.user, *args, **kwargs)
        except PermissionDenied as error:
            return answer(403, str(error))
        except Refused as refused:
            return answer(422, refused.message)

    answered.answers_json = True  # type: ignore[attr-defined]  # read by csrf_failure
    return answered


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Answer a form or script without the page's own token (setting CSRF_FAILURE_VIEW).

    To a device's scripts in JSON, to others by Django's page.
    """
    called = request.resolver_match.func if request.resolver_match else None
    if not getattr(called, "answers_json", False):
        return page_of_failure(request, reason=reason)
    if not request.user.is_authenticated:
        return answer(401, _(SIGN_IN))
    return answer(403, _(STALE))


@for_person
def site_packs(request: HttpRequest, person: Person) -> HttpResponse:
    """Answer the open runs that the person may take up; POST {run, device, attempts} takes one."""
    if request.method == "POST":
        return _take(request, person)
    if request.method not in ("GET", "HEAD"):
        return _not_allowed("GET, HEAD, POST")
    enrolled = Q(enrolments__state=Enrolment.State.ENROLLED)
    runs = (
        runs_visible_to(person)
        .filter(state=CourseRun.State.OPEN)
        .select_related("site", "program")
        .annotate(trainees=Count("enrolments", filter=enrolled))
        .order_by("-starts_on", "pk")
    )
    return JsonResponse(
        {
            "assessor": {"id": str(person.pk), "name": person.full_name},
            "runs": [{**run_document(run), "trainees": run.trainees} for run in runs],
        }
    )


def _take(request: HttpRequest, person: Person) -> HttpResponse:
    asked = _json(request.read(LARGEST_BATCH))
    run_id, device = _uuid(asked, "run"), _uuid(asked, "device")
    run = runs_visible_to(person).select_related("site", "program").filter(pk=run_id).first()
    if run is None:
        return answer(404, _(NO_RUN))
    attempts = asked.get("attempts", True) is True
    pack = take_pack(actor=person, run=run, device=device, start_attempts=attempts)
    return JsonResponse(pack_document(pack))


@for_person
def site_pack_renew(request: HttpRequest, person: Person, pk: uuid.UUID) -> HttpResponse:
    """Answer a new token and expiry of the person's own pack."""
    if request.method != "POST":
        return _not_allowed("POST")
    pack = Pack.objects.filter(pk=pk, assessor=person).first()
    if pack is None:
        return answer(404, _("You took up no such pack on this server."))
    renewed = renew_pack(actor=person, pack=pack)
    return JsonResponse(
        {
            "id": str(renewed.pk),
            "token": token_of(renewed),
            "expires_at": renewed.expires_at.isoformat(),
        }
    )


@login_not_required
@csrf_exempt
@never_cache
def site_events(request: HttpRequest) -> HttpResponse:
    """Take in a batch {pack, events} sent with a pack's token, and answer for every event.

    401 for the token, 413 for too much, 415 for another type than JSON, 429 with Retry-After
    for too often (actions/site/pace.py), 503 when the database asks to try again.
    """
    if request.method == "POST" and request.content_type != JSON:
        return answer(415, _("Send this as {json}.").format(json=JSON))
    return _events(request)


@sent_by_device("POST", LARGEST_BATCH, BATCHES)
def _events(pack: Pack, data: bytes) -> JsonResponse:
    try:
        sent = _json(data)
        events = sent.get("events")
        if sent.get("pack") != str(pack.pk) or not isinstance(events, list):
            raise Refused(_('Send {"pack": the id of the token\'s pack, "events": […]}.'))
        if len(events) > MOST_EVENTS:
            return answer(
                413,
                _("These are {events_count} events: send {most_events} at a time.").format(
                    events_count=len(events), most_events=MOST_EVENTS
                ),
            )
        results = receive_sent(pack, events)
    except RecursionError:
        _unreadable()
    except OperationalError:
        # Such as a deadlock: nothing of the batch is stored, so all of it can come again.
        return later(503, _(BUSY), 5)
    return JsonResponse({"results": [each.document() for each in results]})


def _not_allowed(methods: str) -> JsonResponse:
    response = answer(405, _("Only {methods} is answered here.").format(methods=methods))
    response["Allow"] = methods
    return response


def _json(data: bytes) -> dict[str, Any]:
    try:
        sent = json.loads(data, parse_int=_whole, parse_constant=_no_json)
    except (ValueError, RecursionError):
        _unreadable()
    return sent if isinstance(sent, dict) else _unreadable()


def _unreadable() -> NoReturn:
    raise Refused(_("This is no JSON object that can be read. Send it again."))


def _whole(digits: str) -> int | str:
    """Return a whole number; one so long that Python does not read it stays text."""
    return int(digits) if len(digits) <= MOST_DIGITS else digits


def _no_json(name: str) -> NoReturn:
    raise ValueError(f"{name} is no JSON")


def _uuid(asked: dict[str, Any], name: str) -> uuid.UUID:
    try:
        return uuid.UUID(asked[name])
    except (KeyError, ValueError, TypeError, AttributeError):
        raise Refused(_("Send the {name} as a UUID.").format(name=name), field=name) from None
