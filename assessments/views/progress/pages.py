"""How a trainee comes on, and a whole run."""

import uuid

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from assessments.queries.progress import progress_of, progress_of_run
from assessments.queries.progress_tomorrow import tomorrow_of
from assessments.queries.scope import may_assess
from training.queries.scope import enrolments_visible_to
from training.site_time import zone_of
from training.views.runs import visible_run
from training.views.who import person_of


@require_safe
def progress(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show one trainee's practice pieces and attempts by outcome."""
    person = person_of(request)
    enrolment = get_object_or_404(
        enrolments_visible_to(person).select_related("run__program", "run__site", "person"), pk=pk
    )
    cohort = progress_of(enrolment)
    own = enrolment.person_id == person.pk
    context = {
        "enrolment": enrolment,
        "run": enrolment.run,
        "person": enrolment.person,
        "own": own,
        "teaches": not own and may_assess(person, enrolment.run),
        "cohort": cohort,
        "row": cohort.rows[0],
    }
    return render(request, "assessments/progress/progress.html", context)


@require_safe
def run_progress(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show everybody of a run side by side, and who needs what on the next morning."""
    run = visible_run(person_of(request), pk)
    cohort = progress_of_run(run)
    context = {"run": run, "cohort": cohort, "tomorrow": tomorrow_of(run, cohort)}
    with timezone.override(zone_of(run.site)):
        return render(request, "assessments/progress/run_progress.html", context)
