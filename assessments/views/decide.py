"""The result as it stands, and signing it off."""

import uuid
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from assessments.actions.decisions import sign_off
from assessments.engine import decide
from assessments.engine.canonical import digest
from assessments.forms.decide import SignOffForm
from assessments.models import Attempt
from assessments.queries.attempts import observations_document
from assessments.queries.calibration.authority import authority_of, site_day, who_may_sign
from assessments.queries.differences import differences
from assessments.queries.logged import logged_of
from assessments.queries.paper import keyed_sheets
from assessments.queries.report import report
from assessments.queries.sheet import score_sheet
from assessments.queries.site.photos import photos_of
from assessments.views.attempts import assessable_attempt
from training.models import Person
from training.views.refusals import act
from training.views.who import person_of


@sensitive_post_parameters("password")
@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def attempt_decide(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show what the engine makes of what is scored so far; take the signature.

    Who is in the middle of an own sheet beside another assessor's is asked to finish it first:
    scores are worth comparing only where nobody knew the other's.
    """
    person = person_of(request)
    attempt = assessable_attempt(person, pk)
    if attempt.state != Attempt.State.OPEN:
        messages.info(request, _("This attempt is signed off already."))
        return redirect("attempt", attempt.pk)
    sheet = score_sheet(attempt, person)
    if request.method != "POST" and "look" not in request.GET and sheet.begun_beside_another:
        context = {"attempt": attempt, "person": attempt.enrolment.person, "sheet": sheet}
        return render(request, "assessments/decide_own_first.html", context)
    observations = observations_document(attempt)
    document = decide(attempt.standard.document, observations)
    unauthorised = _unauthorised(attempt, person)
    form = None if unauthorised else _form(request, person, document)
    if request.method == "POST" and form is not None and form.is_valid():
        decision = act(
            form,
            sign_off,
            actor=person,
            attempt=attempt,
            password_checked=True,
            note=form.cleaned_data["note"],
            seen=request.POST.get("seen", ""),
        )
        if decision is not None:
            messages.success(
                request,
                _("Signed off: {result}.").format(result=decision.get_result_display().lower()),
            )
            return redirect("attempt", attempt.pk)
    found = report(
        attempt.standard.document,
        document,
        observations,
        photos_of(attempt),
        logged_of(attempt),
    )
    context = {
        "attempt": attempt,
        "person": attempt.enrolment.person,
        "report": found,
        "differences": differences(found),
        "sheet": sheet,
        "keyed": keyed_sheets(attempt),
        "form": form,
        "unauthorised": unauthorised,
        # What the signature is under: it must still be so when it arrives.
        "seen": digest(observations),
    }
    status = 422 if form is not None and form.errors else 200
    return render(request, "assessments/decide.html", context, status=status)


def _unauthorised(attempt: Attempt, person: Person) -> dict[str, Any] | None:
    """Return why ``person`` may not sign off today and who may; None where that is allowed."""
    today = site_day(attempt)
    authority = authority_of(attempt.standard.program_id, person)
    if authority.holds(today):
        return None
    return {"why": authority.why_not(), "others": who_may_sign(attempt, today)}


def _form(request: HttpRequest, person: Person, document: dict[str, Any]) -> SignOffForm | None:
    """Return the form to sign with; None while the result is undecided."""
    if document["result"] == "undecided":
        return None
    data = request.POST if request.method == "POST" else None
    incomplete = document["result"] == "incomplete"
    return SignOffForm(data, request=request, signer=person, incomplete=incomplete)
