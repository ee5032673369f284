"""How many a run holds, and the order of who waits for a place."""

import uuid

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from training.actions.waiting import put_first, set_capacity
from training.forms.places import CapacityForm
from training.queries.scope import enrolments_visible_to
from training.queries.waiting import places_of, waiting_list
from training.views.refusals import act, act_or_say
from training.views.sent import sent
from training.views.sessions import led_run
from training.views.who import person_of


@require_http_methods(["GET", "HEAD", "POST"])
def run_capacity(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Set how many a run holds, and show who waits."""
    person, run = led_run(request, pk)
    form = CapacityForm(sent(request), initial={"capacity": run.capacity})
    if request.method == "POST" and form.is_valid():
        capacity = form.cleaned_data["capacity"]
        if act(form, set_capacity, actor=person, run=run, capacity=capacity):
            messages.success(request, _("The number of places is saved."))
            return redirect("run", run.pk)
    return render(
        request,
        "training/calendar/capacity.html",
        {"form": form, "run": run, "places": places_of(run), "waiting": waiting_list(run)},
        status=422 if form.errors else 200,
    )


@require_POST
def waiting_first(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Put somebody at the head of the waiting list."""
    person = person_of(request)
    visible = enrolments_visible_to(person).select_related("run__program__provider", "person")
    enrolment = get_object_or_404(visible, pk=pk)
    if act_or_say(request, put_first, actor=person, enrolment=enrolment):
        messages.success(
            request, _("{person} is first on the waiting list.").format(person=enrolment.person)
        )
    return redirect("run_capacity", enrolment.run_id)
