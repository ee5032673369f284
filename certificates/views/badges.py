"""Badges for a day: the sheet to print, and the page that a badge's code leads to."""

import re
import uuid
from typing import Any
from unicodedata import east_asian_width

from django.conf import settings
from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from certificates.actions.guesses import count_wrong_number, too_many_wrong_numbers
from certificates.models import DayPlace
from certificates.queries.badges import badge_of
from certificates.queries.crew_days import today_at
from certificates.queries.days import places_on
from certificates.views.answers import later, unlisted
from certificates.views.days import address_of, asked_day, kept_project
from training.documents import PAPERS, render_pdf
from training.documents.qr import qr_svg
from training.errors import Refused
from training.views.who import person_of

TOO_MANY = N_(
    "Too many badges or records that are not known here were tried from your network. Wait 15 "
    "minutes, then scan the badge again."
)
TOKEN = re.compile(r"[\w-]{1,40}", re.ASCII)
CARDS_ON_A_PAGE = {"a4": 10, "letter": 8}
# The widest name, in letters, that each size of letters has room for on a card.
NAME_SIZES = ((22, "s"), (44, "m"), (88, "l"))
WIDE = ("W", "F")  # East Asian letters take the width of two (Unicode, UAX 11)


@require_safe
def badge_sheet(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Send the badges of everybody placed on a day, to cut out."""
    project = kept_project(person_of(request), pk)
    day = asked_day(request, project)
    places = places_on(project, day)
    if not places:
        messages.error(request, _("Nobody is placed on this day: place them first, then print."))
        return redirect(address_of(project, day))
    paper = next(each for each in PAPERS if each == settings.RECORD_PAPER)
    cards, size = [_card(each) for each in places], CARDS_ON_A_PAGE[paper]
    pages = [cards[at : at + size] for at in range(0, len(cards), size)]
    context = {"project": project, "day": day, "pages": pages}
    title = f"Badges for {project}, {day.day} {day:%B %Y}"
    try:
        pdf = render_pdf("certificates/pdf/badges.html", context, paper=paper, title=title)
    except Refused as refused:
        messages.error(request, refused.message)
        return redirect(address_of(project, day))
    name = f"badges-{day.isoformat()}.pdf"
    headers = {"Content-Disposition": f'inline; filename="{name}"', "Cache-Control": "no-store"}
    return HttpResponse(pdf, content_type="application/pdf", headers=headers)


@login_not_required
@require_safe
@never_cache
def badge(request: HttpRequest, token: str) -> HttpResponse:
    """Say whose badge this is and whether that person is qualified today; nothing on other days."""
    if too_many_wrong_numbers(request):
        return _private(later(render(request, _page("badge_too_many"), {"why": _(TOO_MANY)})))
    place = _placed(token)
    if place is None:
        count_wrong_number(request)
        return _private(render(request, _page("badge_unknown"), status=404))
    found = badge_of(place)
    if found is None:
        passed = place.day < today_at(place.project)
        return _private(render(request, _page("badge_other_day"), {"passed": passed}, status=410))
    return _private(render(request, _page("badge"), {"badge": found, "place": place}))


def _placed(token: str) -> DayPlace | None:
    # The database is not asked for what it cannot hold, such as a null character.
    if not TOKEN.fullmatch(token):
        return None
    return (
        DayPlace.objects.filter(token=token)
        .select_related("person", "project__contractor", "post__program", "post__lead_program")
        .first()
    )


def _page(name: str) -> str:
    return f"certificates/crew/days/{name}.html"


def _private(response: HttpResponse) -> HttpResponse:
    """Keep the page out of search engines, and its address out of what others log."""
    response["Referrer-Policy"] = "no-referrer"
    return unlisted(response)


def _card(place: DayPlace) -> dict[str, Any]:
    address = f"{settings.BASE_URL}{reverse('badge', args=[place.token])}"
    code = qr_svg(address, title=f"QR code of the badge of {place.person}")
    return {
        "place": place,
        "code": mark_safe(code),  # segno escapes the title
        "size": _size(place.person.full_name),
    }


def _size(text: str) -> str:
    width = sum(2 if east_asian_width(letter) in WIDE else 1 for letter in text)
    return next((name for widest, name in NAME_SIZES if width <= widest), "xl")
