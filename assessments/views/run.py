"""The page of a run: who is enrolled, how each attempt stands, and what comes next."""

import uuid

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from assessments.models import SealedStandard
from assessments.queries.attempts import counts, standings
from assessments.queries.retakes import run_retakes
from training.models import CourseRun
from training.queries.scope import is_lead
from training.queries.waiting import places_in_row
from training.views.runs import visible_run
from training.views.who import person_of


@require_safe
def run(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show a run with its enrolments and attempts."""
    person = person_of(request)
    found = visible_run(person, pk)
    rows = standings(found)
    sealed = SealedStandard.objects.filter(program=found.program).defer("document")
    return render(
        request,
        "assessments/run.html",
        {
            "run": found,
            "rows": rows,
            "counts": counts(rows),
            "retakes": run_retakes(rows, found),
            "in_row": places_in_row(row.enrolment for row in rows),
            "instructors": found.instructors.order_by("full_name"),
            "standard": sealed.order_by("-serial").first(),
            "leads": is_lead(person, found.program.provider),
            "is_open": found.state == CourseRun.State.OPEN,
        },
    )
