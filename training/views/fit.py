"""The papers of a run: every trainee beside every prerequisite of its program."""

import uuid

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from training.models import Role
from training.queries.fit import unqualified
from training.queries.fit_run import fit_matrix
from training.queries.scope import is_lead
from training.views.runs import visible_run
from training.views.who import person_of


@require_safe
def run_papers(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show who of a run has shown what, what lapses before its end, and who teaches it."""
    person = person_of(request)
    run = visible_run(person, pk)
    matrix = fit_matrix(run)
    leads = is_lead(person, run.program.provider)
    teachers = list(run.instructors.order_by("full_name")) if leads else []
    lacking = unqualified(teachers, run.program.provider, matrix.on)
    return render(
        request,
        "training/fit/run.html",
        {
            "run": run,
            "matrix": matrix,
            "leads": leads,
            "person": person,
            "teachers": [(each, each not in lacking) for each in teachers],
            "instructor": Role.Kind.INSTRUCTOR.value,
        },
    )
