"""The page of one mason, for the employer: what is held, what it covers, what keeps it."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from certificates.forms.crew import DayForm
from certificates.queries.mason import employment_of, records_of
from training.queries.scope import contractor_organisations, crew_visible_to
from training.views.who import person_of


@require_safe
@never_cache
def mason(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one of the own crew with every record as at a day; nobody else's mason exists."""
    manager = person_of(request)
    person = get_object_or_404(crew_visible_to(manager), pk=pk)
    form = DayForm(request.GET or None)
    at = form.day()
    today = timezone.localdate()
    employers = [each.pk for each in contractor_organisations(manager)]
    context = {
        "mason": person,
        "employment": employment_of(person, employers, today),
        "records": records_of(person, at=at),
        "form": form,
        "at": at,
        "today": today,
        "managed": employers,
        "own": person.pk == manager.pk,
    }
    status = 422 if form.errors else 200
    return render(request, "certificates/crew/register/mason.html", context, status=status)
