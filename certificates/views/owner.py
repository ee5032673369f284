"""What the owner's representative looks at: how the project stands beside what was submitted."""

import uuid

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from certificates.models import Submittal
from certificates.queries.crew_days import today_at
from certificates.queries.crew_scope import projects_kept_by, projects_visible_to
from certificates.queries.owner import owner_view
from training.views.who import person_of


@require_safe
@never_cache
def owner_page(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show how the latest submittal stands today, what changed, and who is on the scaffold."""
    person = person_of(request)
    visible = projects_visible_to(person).select_related("contractor", "owner")
    project = get_object_or_404(visible, pk=pk)
    latest = (
        Submittal.objects.filter(project=project)
        .select_related("project__contractor", "submitted_by")
        .order_by("-number")
        .first()
    )
    context = {
        "project": project,
        "view": owner_view(project, latest, today_at(project)),
        "keeps": projects_kept_by(person).filter(pk=pk).exists(),
    }
    return render(request, "certificates/crew/owner/page.html", context)
