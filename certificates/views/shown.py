"""What a holder's own link shows to whoever has it, without an account.

These pages are rendered without the request, so that they set no cookie and show nothing of who
is signed in.
"""

from io import BytesIO
from typing import Any

from django.contrib.auth.decorators import login_not_required
from django.http import FileResponse, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.template.loader import render_to_string
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from certificates.actions.guesses import count_wrong_number, too_many_wrong_numbers
from certificates.actions.looks import note_own_link
from certificates.actions.own_links import zone_name
from certificates.models import OwnLink, Record
from certificates.queries.own import live_own_link, shown_by
from certificates.rendering import CERTIFICATE, COMPETENCY, Kind
from certificates.stored import NotAsIssued, read_as_issued
from certificates.views.answers import later
from certificates.views.shared import MINUTES, closed

FOLDER = "certificates/own"


@login_not_required
@require_safe
@never_cache
def shown(request: HttpRequest, token: str) -> HttpResponse:
    """Show the records of the link as they stand today."""
    link = _link_or_answer(request, token)
    if isinstance(link, HttpResponse):
        return link
    rows = shown_by(link)
    note_own_link(request=request, records=[row.record for row in rows], link=link)
    context = {"link": link, "rows": rows, "token": token, "zone": zone_name()}
    return closed(_page("shown.html", context))


@login_not_required
@require_safe
@never_cache
def shown_pdf(
    request: HttpRequest, token: str, number: str, kind: Kind = CERTIFICATE
) -> HttpResponseBase:
    """Send a signed PDF of one of the link's records, as it was issued."""
    link = _link_or_answer(request, token)
    if isinstance(link, HttpResponse):
        return link
    record = Record.objects.filter(own_links=link, number=number).first()
    if record is None or (kind == COMPETENCY and not record.competency):
        return closed(_page("shown_nothing.html", {"token": token}, 404))
    try:
        pdf = read_as_issued(record, kind)
    except NotAsIssued:
        return closed(_page("shown_nothing.html", {"token": token}, 503))
    note_own_link(request=request, records=[record], link=link)
    name = f"{record.document['program']['code']}-{kind}-{record.number}.pdf"
    return closed(
        FileResponse(
            BytesIO(pdf), as_attachment=True, filename=name, content_type="application/pdf"
        )
    )


def _link_or_answer(request: HttpRequest, token: str) -> OwnLink | HttpResponse:
    """Return the link; where there is none in force, the one answer for every reason."""
    if too_many_wrong_numbers(request):
        return closed(later(_page("shown_too_many.html", {"minutes": MINUTES}, 429)))
    link = live_own_link(token)
    if link is None:
        count_wrong_number(request)
        return closed(_page("shown_gone.html", {}, 410))
    return link


def _page(template: str, context: dict[str, Any], status: int = 200) -> HttpResponse:
    return HttpResponse(render_to_string(f"{FOLDER}/{template}", context), status=status)
