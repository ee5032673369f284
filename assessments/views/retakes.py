"""The page on which an attempt is made again: the rule, the day, and the start."""

import uuid
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST

from assessments.actions.retakes import arrange_retake, give_up_retake_day, start_retake
from assessments.forms.retakes import GiveUpDayForm, RetakeDayForm, StartRetakeForm
from assessments.models import Attempt
from assessments.queries.retakes import Retaking, retaking, stages_of
from assessments.views.attempts import assessable_attempt
from training.models import CourseRun
from training.views.refusals import act
from training.views.sent import sent
from training.views.who import person_of


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def attempt_retake(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show when and how an attempt may be made again; a post starts it."""
    person = person_of(request)
    attempt = assessable_attempt(person, pk)
    found = retaking(attempt.enrolment)
    if found is None or found.of.pk != attempt.pk:
        return _elsewhere(request, attempt, found)
    form = StartRetakeForm(sent(request), whole=found.again.whole)
    if request.method == "POST" and form.is_valid():
        started = act(
            form,
            start_retake,
            actor=person,
            attempt=attempt,
            whole=form.whole,
            stands=form.cleaned_data.get("stands", ""),
        )
        if started is not None:
            return redirect("attempt_score", started.pk)
    return _page(request, attempt, found, start=form)


@require_POST
def retake_day(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Arrange when and where the attempt is made again."""
    person = person_of(request)
    attempt = assessable_attempt(person, pk)
    form = RetakeDayForm(request.POST)
    if form.is_valid():
        row = act(form, arrange_retake, actor=person, attempt=attempt, **form.cleaned_data)
        if row is not None:
            messages.success(request, _("The day is arranged; the trainee is written to."))
            return redirect("attempt_retake", attempt.pk)
    found = retaking(attempt.enrolment)
    if found is None or found.of.pk != attempt.pk:
        return _elsewhere(request, attempt, found)
    return _page(request, attempt, found, day=form)


@require_POST
def retake_day_give_up(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Give up the day that was arranged."""
    person = person_of(request)
    attempt = assessable_attempt(person, pk)
    form = GiveUpDayForm(request.POST)
    if form.is_valid():
        row = act(form, give_up_retake_day, actor=person, attempt=attempt, **form.cleaned_data)
        if row is not None:
            messages.success(request, _("The day is given up; the trainee is written to."))
            return redirect("attempt_retake", attempt.pk)
    found = retaking(attempt.enrolment)
    if found is None or found.of.pk != attempt.pk:
        return _elsewhere(request, attempt, found)
    return _page(request, attempt, found, give_up=form)


def _elsewhere(request: HttpRequest, attempt: Attempt, found: Retaking | None) -> HttpResponse:
    """Lead to the attempt that can be made again, or back where there is none."""
    if found is None:
        messages.info(request, _("No attempt is decided yet: nothing can be made again."))
        return redirect("attempt", attempt.pk)
    messages.info(
        request,
        _("Attempt {number} is the one that can be made again.").format(number=found.of.number),
    )
    return redirect("attempt_retake", found.of.pk)


def _page(
    request: HttpRequest, attempt: Attempt, found: Retaking, **typed: forms.Form
) -> HttpResponse:
    run = attempt.enrolment.run
    place = found.day.place if found.day else run.site.name
    arranged = {"day": found.day.day if found.day else None, "place": place}
    context: dict[str, Any] = {
        "attempt": attempt,
        "person": attempt.enrolment.person,
        "run": run,
        "retake": found,
        "stages": [] if found.again.whole else stages_of(found),
        "is_open": run.state == CourseRun.State.OPEN,
        "is_closed": run.state == CourseRun.State.CLOSED,
        "own": attempt.enrolment.person_id == person_of(request).pk,
        "start": StartRetakeForm(whole=found.again.whole),
        "day": RetakeDayForm(initial=arranged),
        "give_up": GiveUpDayForm(),
        **typed,
    }
    status = 422 if any(form.errors for form in typed.values()) else 200
    return render(request, "assessments/retake.html", context, status=status)
