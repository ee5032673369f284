"""What is kept and how long, and everything held about a person as one file."""

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, StreamingHttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from training.actions.exports import note_export
from training.models import Person
from training.privacy.erasing import KEPT
from training.privacy.export import archive
from training.privacy.parts import PARTS
from training.privacy.retention import table
from training.queries.consents import standings_of
from training.queries.scope import people_visible_to
from training.views.who import person_of


@login_not_required
@require_safe
def retention(request: HttpRequest) -> HttpResponse:
    """Show anybody what is kept, how long and why."""
    law, entries = table()
    context = {"law": law, "entries": entries, "stays": KEPT}
    return render(request, "training/privacy/retention.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def my_data(request: HttpRequest) -> HttpResponseBase:
    """Show what the person agreed to and what is held; POST sends all of it."""
    person = person_of(request)
    if request.method == "POST":
        return _sent(person, person)
    return render(
        request,
        "training/privacy/my_data.html",
        {"standings": standings_of(person), "parts": PARTS.values()},
    )


@require_POST
@never_cache
def person_data(request: HttpRequest, pk: int) -> HttpResponseBase:
    """Send a lead all that is held about a person, to be handed to that person."""
    lead = person_of(request)
    return _sent(lead, get_object_or_404(people_visible_to(lead), pk=pk))


def _sent(actor: Person, person: Person) -> HttpResponseBase:
    note_export(actor=actor, person=person)
    response = StreamingHttpResponse(
        archive(person, now=timezone.now()), content_type="application/zip"
    )
    response["Content-Disposition"] = f'attachment; filename="person-{person.pk}.zip"'
    return response
