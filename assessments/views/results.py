"""A trainee's own attempts."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from assessments.queries.results import own_attempts
from training.views.who import person_of


@require_safe
def my_results(request: HttpRequest) -> HttpResponse:
    """Show every attempt of the person who asks, with its result once it is decided."""
    return render(
        request, "assessments/my_results.html", {"rows": own_attempts(person_of(request))}
    )
