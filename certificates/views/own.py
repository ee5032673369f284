"""The own records: how they stand, links of one's own, and who has looked."""

import uuid

from django.conf import settings
from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from certificates.actions.own_links import end_own_link, make_own_link, zone_name
from certificates.forms.own_links import OwnLinkForm
from certificates.queries.own import looks_at, own_links, own_records
from training.documents.qr import qr_svg
from training.models import Person
from training.views.refusals import act
from training.views.who import person_of

PAGE = 50
LATEST = 5


@require_safe
@never_cache
def my_records(request: HttpRequest) -> HttpResponse:
    """Show the own records, the links to them, and the latest looks."""
    person = person_of(request)
    return _page(request, person, OwnLinkForm(holder=person))


@require_safe
@never_cache
def my_looks(request: HttpRequest) -> HttpResponse:
    """Show everybody who looked at the own records."""
    looks = looks_at(person_of(request))
    page = Paginator(looks, PAGE).get_page(request.GET.get("page"))
    return render(request, "certificates/own/looks.html", {"page": page, "query": ""})


@require_POST
@never_cache
def own_link_make(request: HttpRequest) -> HttpResponse:
    """Make a link and show its address, this once: afterwards nobody can."""
    person = person_of(request)
    form = OwnLinkForm(request.POST, holder=person)
    made = None
    if form.is_valid():
        made = act(form, make_own_link, actor=person, **form.cleaned_data)
    if made is None:
        return _page(request, person, form, status=422)
    link, token = made
    address = f"{settings.BASE_URL}{reverse('shown', args=[token])}"
    context = {
        "link": link,
        "records": link.records.count(),
        "address": address,
        "qr": mark_safe(qr_svg(address, title=_("QR code that leads to the address above"))),
        "zone": zone_name(),
    }
    response = render(request, "certificates/own/link_made.html", context)
    response["Referrer-Policy"] = "no-referrer"
    return response


@require_POST
@never_cache
def own_link_end(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """End a link: it is dead at once."""
    person = person_of(request)
    link = end_own_link(actor=person, link=get_object_or_404(own_links(person), pk=pk))
    messages.success(
        request, _("The link for {name} opens nothing any more.").format(name=link.recipient)
    )
    return redirect("my_records")


def _page(
    request: HttpRequest, person: Person, form: OwnLinkForm, status: int = 200
) -> HttpResponse:
    context = {
        "rows": own_records(person),
        "links": own_links(person),
        "looks": looks_at(person)[:LATEST],
        "form": form,
        "now": timezone.now(),
        "zone": zone_name(),
    }
    return render(request, "certificates/own/my_records.html", context, status=status)
