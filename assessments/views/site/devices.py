"""At the desk: the devices of a run, answering what was set aside, reading in a device's file."""

import json
import uuid

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from assessments.actions.site.answers import answer_set_aside, stands_now, why_not
from assessments.actions.site.imports import import_events
from assessments.actions.site.losses import answer_loss
from assessments.actions.site.packs import close_pack
from assessments.forms.site import AnswerForm, EventsFileForm, LossForm
from assessments.models import Pack, SetAside
from assessments.queries.site.aside import (
    about_attempts,
    content_of,
    set_aside_visible_to,
    taken_in,
    words_of,
)
from assessments.queries.site.devices import losses_visible_to
from assessments.queries.site.devices import run_devices as devices_of
from training.models import Role
from training.queries.scope import is_lead, roles_of, runs_visible_to
from training.views.refusals import act
from training.views.runs import visible_run
from training.views.sent import sent
from training.views.who import person_of


@require_safe
@never_cache
def run_devices(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show what was taken up, received, lost and set aside, and which photographs are missing."""
    person = person_of(request)
    run = visible_run(person, pk)
    leads = is_lead(person, run.program.provider)
    context = {"run": run, "devices": devices_of(run), "leads": leads}
    return render(request, "assessments/site/devices.html", context)


@require_POST
def pack_close(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Close what was taken up on a device, such as a lost one."""
    person = person_of(request)
    runs = runs_visible_to(person).order_by()
    pack = get_object_or_404(Pack.objects.filter(run__in=runs), pk=pk)
    close_pack(actor=person, pack=pack)
    messages.success(request, _("Closed: the device sends nothing any more."))
    return redirect("run_devices", pack.run_id)


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def set_aside(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one event that was set aside, whole and in words; take the answer to it."""
    person = person_of(request)
    rows = set_aside_visible_to(person).select_related(
        "pack__run__program", "pack__run__site", "assessor", "answer__by"
    )
    row = get_object_or_404(rows, pk=pk)
    form = AnswerForm(sent(request))
    if request.method == "POST" and form.is_valid():
        take_in = "take_in" in request.POST
        answered = act(
            form,
            answer_set_aside,
            actor=person,
            set_aside=row,
            take_in=take_in,
            note=form.cleaned_data["note"],
        )
        if answered is not None:
            messages.success(
                request, _("Taken in.") if take_in else _("Left out; it stays kept here.")
            )
            return redirect("run_devices", row.pack.run_id)  # type: ignore[union-attr]
    return _shown(request, row, form)


def _shown(request: HttpRequest, row: SetAside, form: AnswerForm) -> HttpResponse:
    about = about_attempts([row])
    answer = getattr(row, "answer", None)
    stands = None if answer else stands_now(row)
    context = {
        "row": row,
        "run": row.pack and row.pack.run,
        "content": content_of(row, about),
        "answer": answer,
        "taken": row.pk in taken_in([row]),
        "whole": json.dumps(row.body, indent=1, ensure_ascii=False),
        "refusal": None if answer else why_not(row),
        "stands": stands,
        "stands_words": words_of(stands, about) if stands else "",
        "form": form,
    }
    status = 422 if form.errors else 200
    return render(request, "assessments/site/set_aside.html", context, status=status)


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def device_loss(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one loss and what was done about it; take that down."""
    person = person_of(request)
    rows = losses_visible_to(person).select_related(
        "pack__run__program", "pack__run__site", "assessor", "answer__by"
    )
    loss = get_object_or_404(rows, pk=pk)
    assert loss.pack is not None
    form = LossForm(sent(request))
    if request.method == "POST" and form.is_valid():
        note = form.cleaned_data["note"]
        if act(form, answer_loss, actor=person, loss=loss, note=note) is not None:
            messages.success(request, _("Taken note of; it stays kept here."))
            return redirect("run_devices", loss.pack.run_id)
    context = {
        "loss": loss,
        "run": loss.pack.run,
        "answer": getattr(loss, "answer", None),
        "form": form,
    }
    status = 422 if form.errors else 200
    return render(request, "assessments/site/loss.html", context, status=status)


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def events_import(request: HttpRequest) -> HttpResponse:
    """Read in the file of a device that could not send; tell what became of each event."""
    person = person_of(request)
    if not roles_of(person) & {Role.Kind.LEAD, Role.Kind.INSTRUCTOR}:
        raise PermissionDenied(_("Only who leads or teaches course runs reads in such a file."))
    files = request.FILES if request.method == "POST" else None
    form = EventsFileForm(sent(request), files)
    imported = None
    if form.is_valid():
        imported = act(form, import_events, actor=person, document=form.document)
    context = {"form": form, "imported": imported}
    status = 422 if form.errors else 200
    return render(request, "assessments/site/import.html", context, status=status)
