"""Links to a project for readers without an account: making, seeing who opened them, revoking."""

import uuid
from zoneinfo import ZoneInfo

from django.conf import settings
from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from certificates.actions.links import make_link, revoke_link
from certificates.forms.submittals import LinkForm
from certificates.models import Project, ShareLink
from certificates.queries.crew_scope import projects_kept_by
from certificates.queries.submittals import links_of
from certificates.views.submittals import submittals_page, visible_project
from training.documents.qr import qr_svg
from training.models import Person
from training.views.refusals import act
from training.views.who import person_of

PAGE = 50
ONLY_KEEPERS = N_("Only a manager of the contractor shares a project.")


@require_POST
@never_cache
def link_make(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Make a link and show its address, this once: afterwards nobody can."""
    person, project = _kept(request, pk)
    form = LinkForm(request.POST)
    made = None
    if form.is_valid():
        made = act(form, make_link, actor=person, project=project, **form.cleaned_data)
    if made is None:
        return submittals_page(request, project, status=422, link_form=form)
    link, token = made
    address = f"{settings.BASE_URL}{reverse('shared', args=[token])}"
    context = {
        "project": project,
        "link": links_of(project).get(pk=link.pk),
        "address": address,
        "qr": mark_safe(qr_svg(address, title=_("QR code that leads to the address above"))),
    }
    with timezone.override(ZoneInfo(project.time_zone)):
        response = render(request, "certificates/crew/submittals/link_made.html", context)
    response["Referrer-Policy"] = "no-referrer"
    return response


@require_safe
@never_cache
def link(request: HttpRequest, pk: uuid.UUID, link: uuid.UUID) -> HttpResponse:
    """Show who opened a link, when, and what."""
    project = _kept(request, pk)[1]
    found = get_object_or_404(links_of(project), pk=link)
    openings = found.openings.select_related("submittal").defer("submittal__document")
    page = Paginator(openings.order_by("-at", "-pk"), PAGE).get_page(request.GET.get("page"))
    context = {"project": project, "link": found, "page": page, "now": timezone.now()}
    with timezone.override(ZoneInfo(project.time_zone)):
        return render(request, "certificates/crew/submittals/link.html", context)


@require_POST
@never_cache
def link_revoke(request: HttpRequest, pk: uuid.UUID, link: uuid.UUID) -> HttpResponse:
    """Revoke a link: it is dead at once."""
    person, project = _kept(request, pk)
    found = get_object_or_404(ShareLink.objects.select_related("project"), project=project, pk=link)
    revoke_link(actor=person, link=found)
    messages.success(
        request,
        _("The link for {recipient} is revoked: it opens nothing more.").format(
            recipient=found.recipient
        ),
    )
    return redirect("submittals", project.pk)


def _kept(request: HttpRequest, pk: uuid.UUID) -> tuple[Person, Project]:
    person = person_of(request)
    project = visible_project(person, pk)
    if not projects_kept_by(person).filter(pk=pk).exists():
        raise PermissionDenied(_(ONLY_KEEPERS))
    return person, project
