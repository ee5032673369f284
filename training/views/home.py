"""The first page, and whether the server is well."""

from django.contrib.auth.decorators import login_not_required
from django.db import DatabaseError, connection
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from training.models import Person, Role
from training.queries.runs import own_enrolments, run_rows
from training.queries.scope import TRAINEE, roles_of
from training.queries.todo import todos_of

RUNS_SHOWN = 8


@login_not_required
@require_safe
def home(request: HttpRequest) -> HttpResponse:
    """Say what is to be done next; to a stranger, what this is."""
    person = request.user
    if not isinstance(person, Person):
        return render(request, "training/landing.html")
    roles = roles_of(person)
    context: dict[str, object] = {
        "todos": todos_of(person, roles),
        "roles": roles,
        "manages_runs": bool(roles & {Role.Kind.LEAD, Role.Kind.INSTRUCTOR}),
    }
    if context["manages_runs"]:
        context["runs"] = run_rows(person).exclude(state="closed")[:RUNS_SHOWN]
    if TRAINEE in roles:
        context["enrolments"] = own_enrolments(person)
    return render(request, "training/home.html", context)


@login_not_required
@require_safe
@never_cache
def healthz(request: HttpRequest) -> HttpResponse:
    """Answer ``ok`` when the database answers, else 503."""
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
    except DatabaseError:
        return HttpResponse("the database does not answer\n", "text/plain", status=503)
    return HttpResponse("ok\n", content_type="text/plain")
