"""Issuing all records of a run, and how far it is."""

import uuid

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import ngettext
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from certificates.actions.issue_run import issue_run
from certificates.queries.issuing import issue_rows, progress_of
from training.views.refusals import act_or_say
from training.views.runs import visible_run
from training.views.who import person_of


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def run_records(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show who gets a record and how far each one is; put them in the queue when asked."""
    person = person_of(request)
    run = visible_run(person, pk)
    if request.method == "POST":
        job = act_or_say(request, issue_run, actor=person, run=run)
        if job is not None:
            number = job.items.count()
            told = ngettext(
                "{count} record is in the queue. You may leave this page.",
                "{count} records are in the queue. You may leave this page.",
                number,
            )
            messages.success(request, told.format(count=number))
        return redirect("run_records", run.pk)
    rows = issue_rows(run, person)
    return render(
        request,
        "certificates/jobs/run_records.html",
        {"run": run, "rows": rows, "progress": progress_of(rows)},
    )
