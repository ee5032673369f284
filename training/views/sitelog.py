"""Mortar and curing on a run: their clocks, mixing, throwing away, protecting."""

import uuid
from typing import Any
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from training.actions.sitelog import begin_curing, discard_batch, end_curing, mix_batch
from training.actions.sitelog.guards import require_keeper
from training.forms.sitelog import BatchForm, CuringForm, EndCuringForm
from training.models import CourseRun, Person
from training.queries import sitelog_todo  # noqa: F401 (importing it registers its sources)
from training.queries.sitelog_cautions import LIME, SILICA
from training.queries.sitelog_clocks import curing_clock
from training.queries.sitelog_mortar import batches_of, curings_of, proposed_label
from training.queries.sitelog_scope import (
    batches_visible_to,
    curings_visible_to,
    keeps_log,
    log_runs_of,
)
from training.views.refusals import act, act_or_say
from training.views.sent import sent
from training.views.who import person_of

METHODS = ["GET", "HEAD", "POST"]


@require_safe
@never_cache
def run_mortar(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show the batches and what cures, each with its clock."""
    person = person_of(request)
    run = _run(person, pk)
    now = timezone.now()
    with timezone.override(_zone(run)):
        context = {
            "run": run,
            "batches": batches_of(run, now),
            "curings": curings_of(run, now),
            "keeps": keeps_log(person, run),
            "now": now,
            "cautions": (LIME, SILICA),
        }
        return render(request, "training/sitelog/mortar.html", context)


@require_http_methods(METHODS)
@never_cache
def run_mortar_mix(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Put a batch into the log."""
    person = person_of(request)
    run = _run(person, pk)
    require_keeper(person, run)
    with timezone.override(_zone(run)):
        last = run.batches.order_by("-mixed_at").first()
        initial: dict[str, Any] = {"label": proposed_label(run), "mixed_at": _this_minute()}
        if last is not None:
            initial |= {"mix": last.mix, "working_minutes": last.working_minutes}
            initial["source"] = last.source
        form = BatchForm(sent(request), initial=initial)
        if request.method == "POST" and form.is_valid():
            batch = act(form, mix_batch, actor=person, run=run, **form.cleaned_data)
            if batch is not None:
                messages.success(
                    request,
                    _("Batch {batch_label} is in the log; its clock runs.").format(
                        batch_label=batch.label
                    ),
                )
                return redirect("run_mortar", run.pk)
        context = {"run": run, "form": form, "cautions": (LIME, SILICA), "last": last}
        status = 422 if form.errors else 200
        return render(request, "training/sitelog/mix.html", context, status=status)


@require_POST
def batch_discard(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Record that nothing is left of a batch."""
    person = person_of(request)
    batches = batches_visible_to(person).select_related("run__site")
    batch = get_object_or_404(batches, pk=pk)
    if act_or_say(request, discard_batch, actor=person, batch=batch):
        messages.success(
            request, _("Nothing is left of batch {batch_label}.").format(batch_label=batch.label)
        )
    return redirect("run_mortar", batch.run_id)


@require_http_methods(METHODS)
@never_cache
def run_curing_begin(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Put into the log that a repair cures under protection."""
    person = person_of(request)
    run = _run(person, pk)
    require_keeper(person, run)
    with timezone.override(_zone(run)):
        form = CuringForm(sent(request), run=run, initial={"started_at": _this_minute()})
        if request.method == "POST" and form.is_valid():
            begun = act(form, begin_curing, actor=person, run=run, **form.cleaned_data)
            if begun is not None:
                messages.success(request, _("The curing is in the log; its clock runs."))
                return redirect("run_mortar", run.pk)
        context = {"run": run, "form": form, "cautions": (LIME,)}
        status = 422 if form.errors else 200
        return render(request, "training/sitelog/cure.html", context, status=status)


@require_http_methods(METHODS)
@never_cache
def curing_end(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Record that the protection came off."""
    person = person_of(request)
    curings = curings_visible_to(person).select_related("run__site", "run__program")
    curing = get_object_or_404(curings, pk=pk)
    require_keeper(person, curing.run)
    with timezone.override(_zone(curing.run)):
        form = EndCuringForm(sent(request), initial={"at": _this_minute()})
        if request.method == "POST" and form.is_valid():
            ended = act(form, end_curing, actor=person, curing=curing, **form.cleaned_data)
            if ended is not None:
                messages.success(request, _("The log says when the protection came off."))
                return redirect("run_mortar", curing.run_id)
        clock = curing_clock(curing, timezone.now())
        context = {"run": curing.run, "curing": curing, "form": form, "clock": clock}
        status = 422 if form.errors else 200
        return render(request, "training/sitelog/end_curing.html", context, status=status)


def _run(person: Person, pk: uuid.UUID) -> CourseRun:
    return get_object_or_404(log_runs_of(person).select_related("program", "site"), pk=pk)


def _zone(run: CourseRun) -> ZoneInfo:
    return ZoneInfo(run.site.time_zone)


def _this_minute() -> Any:
    return timezone.localtime().replace(second=0, microsecond=0)
