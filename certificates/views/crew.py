"""A contractor's crew: who met which program, and until when the record counts, on any day."""

from typing import Any

from django.conf import settings
from django.core.exceptions import PermissionDenied
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from certificates.forms.crew import ORDERS, WORDS, CrewFilter
from certificates.queries.covering import covering_of
from certificates.queries.crew import (
    PAGE,
    REGISTER_TONES,
    Page,
    employers_of,
    programs_of_crew,
    register_page,
)
from certificates.queries.feeds import feeds_of
from certificates.queries.qualified import COUNTING, told_tone
from training.models import Organisation, Person
from training.views.who import person_of

REGISTER = "certificates/crew/register/register.html"


@require_safe
@never_cache
def crew(request: HttpRequest) -> HttpResponse:
    """Show a page of the register: today's crew, with their records as at a day."""
    person, employers = manager_of(request)
    return register(request, person, employers, filter_of(request, person, employers))


def manager_of(request: HttpRequest) -> tuple[Person, list[Organisation]]:
    """Return who asks, and whose crew that person looks after; PermissionDenied for nobody's."""
    person = person_of(request)
    employers = employers_of(person)
    if not employers:
        raise PermissionDenied(_("Only a contractor's manager has a crew to look at."))
    return person, employers


def filter_of(request: HttpRequest, person: Person, employers: list[Organisation]) -> CrewFilter:
    """Return the filter in the address, with what the chosen program's record can be asked for."""
    programs = programs_of_crew(person)
    wanted = request.GET.get("program", "")
    chosen = next((each for each in programs if str(each.pk) == wanted), None)
    return CrewFilter(
        request.GET or None,
        programs=programs,
        employers=employers,
        covering=covering_of(chosen) if chosen else None,
    )


def register(
    request: HttpRequest,
    person: Person,
    employers: list[Organisation],
    form: CrewFilter,
    **more: Any,
) -> HttpResponse:
    """Answer with the register's page; 422 where a field of the filter is at fault."""
    asked = form.asked()
    found = register_page(person, asked, _number(request.GET.get("page", "")))
    query = request.GET.copy()
    query.pop("page", None)
    plain = query.copy()
    plain.pop("standing", None)
    sortless = query.copy()
    sortless.pop("order", None)
    context = {
        "employers": employers,
        "form": form,
        "asked": asked,
        "found": found,
        "totals": _totals(found),
        "holding": sum(n for word, n in found.totals.items() if word in COUNTING),
        "page": Paginator(range(found.count), PAGE).page(found.number),
        "orders": ORDERS,
        "query": f"&{query.urlencode()}" if query else "",
        "wordless": f"&{plain.urlencode()}" if plain else "",
        "sortless": f"&{sortless.urlencode()}" if sortless else "",
        "filtered": any(request.GET.get(name) for name in form.fields if name != "order"),
        "today": timezone.localdate(),
        "check_url": f"{settings.BASE_URL}{reverse('check')}",
        "feeds": feeds_of(person, employers),
    }
    status = 422 if form.errors else 200
    return render(request, REGISTER, {**context, **more}, status=status)


def _totals(found: Page) -> list[tuple[str, tuple[str, str, str], int]]:
    """Return (word, tone, number) of each word that there is, the best first."""
    return [
        (word, told_tone(REGISTER_TONES[word]), found.totals[word])
        for word in WORDS
        if word in found.totals
    ]


def _number(text: str) -> int:
    # What is no number is the first page, as elsewhere; more than nine digits are past the last.
    return int(text[:9]) if text.isascii() and text.isdigit() else 1
