"""What a link shows to whoever has it, without an account: the submittal, then and today.

These pages are rendered without the request, so that they set no cookie and show nothing of who
is signed in.
"""

from typing import Any, TypeVar
from zoneinfo import ZoneInfo

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.template.loader import render_to_string
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from certificates.actions.guesses import WINDOW, count_wrong_number, too_many_wrong_numbers
from certificates.actions.links import note_opening
from certificates.actions.looks import note_project
from certificates.models import LinkOpening, ShareLink, Submittal
from certificates.queries.owner import owner_view
from certificates.queries.submittals import live_link
from certificates.views.answers import later
from certificates.views.submittals import pdf_of, zip_of

FOLDER = "certificates/crew/submittals"
LONGEST_TOKEN = 100
MINUTES = int(WINDOW.total_seconds() // 60)
What = LinkOpening.What
R = TypeVar("R", bound=HttpResponseBase)


@login_not_required
@require_safe
@never_cache
def shared(request: HttpRequest, token: str) -> HttpResponse:
    """Show what was submitted beside how it stands today."""
    link = _link_or_answer(request, token)
    if isinstance(link, HttpResponse):
        return link
    project, zone = link.project, ZoneInfo(link.project.time_zone)
    submittals = list(
        project.submittals.select_related("submitted_by", "project").order_by("-number")
    )
    latest = submittals[0] if submittals else None
    note_opening(request=request, link=link, what=What.PAGE, submittal=latest)
    if latest:
        note_project(request=request, link=link, submittal=latest)
    today = timezone.localdate(timezone=zone)
    context: dict[str, Any] = {
        "project": project,
        "link": link,
        "token": token,
        "submittals": submittals,
        "latest": latest,
        "today": today,
        "view": owner_view(project, latest, today) if latest else None,
    }
    with timezone.override(zone):
        return closed(_page("shared.html", context))


@login_not_required
@require_safe
@never_cache
def shared_pdf(request: HttpRequest, token: str, number: int) -> HttpResponseBase:
    """Send the signed PDF of a submittal of the link's project."""
    found = _submittal_or_answer(request, token, number, What.PDF)
    return found if isinstance(found, HttpResponse) else closed(pdf_of(found))


@login_not_required
@require_safe
@never_cache
def shared_zip(request: HttpRequest, token: str, number: int) -> HttpResponseBase:
    """Send the archive of a submittal of the link's project."""
    found = _submittal_or_answer(request, token, number, What.ZIP)
    return found if isinstance(found, HttpResponse) else closed(zip_of(found))


def _submittal_or_answer(
    request: HttpRequest, token: str, number: int, what: str
) -> Submittal | HttpResponse:
    link = _link_or_answer(request, token)
    if isinstance(link, HttpResponse):
        return link
    rows = Submittal.objects.select_related("project__contractor").defer("document")
    found = rows.filter(project=link.project, number=number).first()
    if found is None:
        return closed(_page("shared_nothing.html", {"token": token, "number": number}, 404))
    note_opening(request=request, link=link, what=what, submittal=found)
    note_project(request=request, link=link, submittal=found)
    return found


def _link_or_answer(request: HttpRequest, token: str) -> ShareLink | HttpResponse:
    """Return the link; where there is none in force, the one answer for every reason."""
    if too_many_wrong_numbers(request):
        return closed(later(_page("shared_too_many.html", {"minutes": MINUTES}, 429)))
    link = live_link(token) if len(token) <= LONGEST_TOKEN else None
    if link is None:
        count_wrong_number(request)
        return closed(_page("shared_gone.html", {}, 410))
    return link


def _page(template: str, context: dict[str, Any], status: int = 200) -> HttpResponse:
    return HttpResponse(render_to_string(f"{FOLDER}/{template}", context), status=status)


def closed(response: R) -> R:
    """Keep it out of search engines, and its address out of the log and of what browsers tell."""
    response["Referrer-Policy"] = "no-referrer"
    response["X-Robots-Tag"] = "noindex, nofollow, noarchive"
    # Django would write the address of a refused request, and with it the secret, into its log.
    response._has_been_logged = True  # type: ignore[attr-defined]
    return response
