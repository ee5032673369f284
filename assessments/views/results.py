"""A trainee's own attempts."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from assessments.queries.results import own_attempts
from assessments.queries.task_sheet import own_sheets
from training.views.who import person_of


@require_safe
def my_results(request: HttpRequest) -> HttpResponse:
    """Show the task sheets and attempts of the person who asks; results once decided."""
    person = person_of(request)
    context = {"rows": own_attempts(person), "sheets": own_sheets(person)}
    return render(request, "assessments/my_results.html", context)
