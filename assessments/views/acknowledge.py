"""Saying that a result was read: on the own account, or by PIN on an instructor's device."""

import uuid
from contextlib import AbstractContextManager, nullcontext

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import translation
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from assessments.actions.acknowledge import acknowledge, acknowledge_here, words
from assessments.forms.acknowledge import AcknowledgeForm
from assessments.models import Acknowledgement, Attempt, Decision
from assessments.queries.acknowledged import acknowledgement_of
from assessments.queries.attempts import current_decision
from assessments.queries.report import report
from assessments.views.attempts import visible_attempt
from training.models import Person, Pin
from training.reader import reading_as
from training.views.refusals import act
from training.views.who import person_of


@sensitive_post_parameters("pin")
@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def attempt_acknowledge(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show what is acknowledged and take the yes; on somebody else's device, with the PIN.

    There the page speaks the trainee's language: it is the trainee who reads it.
    """
    reader = person_of(request)
    attempt = visible_attempt(reader, pk)
    decision = current_decision(attempt)
    if decision is None or attempt.state != Attempt.State.DECIDED:
        raise Http404
    trainee = attempt.enrolment.person
    own = trainee.pk == reader.pk
    speaking: AbstractContextManager[None] = nullcontext() if own else reading_as(trainee)
    with speaking:
        return _page(request, reader, attempt, decision)


def _page(
    request: HttpRequest, reader: Person, attempt: Attempt, decision: Decision
) -> HttpResponse:
    trainee = attempt.enrolment.person
    own = trainee.pk == reader.pk
    shown = {"decision": decision.pk, "language": translation.get_language()}
    form = AcknowledgeForm(
        request.POST if request.method == "POST" else None, initial=shown, asks_pin=not own
    )
    if request.method == "POST" and form.is_valid() and _take(form, reader, attempt, own):
        messages.success(request, _("Acknowledged."))
        return redirect("attempt", attempt.pk)
    context = {
        "attempt": attempt,
        "decision": decision,
        "acknowledgement": acknowledgement_of(decision),
        "form": form,
        "own": own,
        "trainee": trainee,
        "person": trainee,
        "assesses": not own,
        "no_pin": not own and not Pin.objects.filter(person=trainee).exists(),
        "words": words(),
        "report": report(attempt.standard.document, decision.document, decision.observations),
    }
    status = 422 if form.errors else 200
    return render(request, "assessments/attempt/acknowledge.html", context, status=status)


def _take(
    form: AcknowledgeForm, reader: Person, attempt: Attempt, own: bool
) -> Acknowledgement | None:
    """Save the yes to the decision that was shown, in the language it was shown in."""
    data = form.cleaned_data
    decision = Decision.objects.filter(pk=data["decision"], attempt=attempt).first()
    if decision is None:
        form.add_error(None, _("This page is of another attempt: reload it."))
        return None
    with translation.override(data["language"]):
        if own:
            return act(form, acknowledge, actor=reader, decision=decision, comment=data["comment"])
        return act(
            form,
            acknowledge_here,
            actor=reader,
            decision=decision,
            pin=data["pin"],
            comment=data["comment"],
        )
