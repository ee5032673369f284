"""A contractor's crew: who met which program, and until when the record holds."""

from django.conf import settings
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from certificates.forms.crew import CrewFilter
from certificates.queries.crew import counts, crew_of, narrowed, program_choices
from training.queries.scope import contractor_organisations
from training.views.who import person_of


@require_safe
@never_cache
def crew(request: HttpRequest) -> HttpResponse:
    """Show the people employed today with their results and records."""
    person = person_of(request)
    employers = list(contractor_organisations(person))
    if not employers:
        raise PermissionDenied("Only a contractor's manager has a crew to look at.")
    members = crew_of(person)
    form = CrewFilter(request.GET or None, programs=program_choices(members))
    program, word = "", ""
    if form.is_valid():
        program, word = form.cleaned_data["program"], form.cleaned_data["standing"]
    return render(
        request,
        "certificates/crew.html",
        {
            "employers": employers,
            "members": narrowed(members, program=program, word=word),
            "counts": counts(members),
            "form": form,
            "filtered": bool(program or word),
            "today": timezone.localdate(),
            "check_url": f"{settings.BASE_URL}{reverse('check')}",
        },
        status=422 if form.errors else 200,
    )
