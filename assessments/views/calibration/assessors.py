"""For the lead: what a program asks of its assessors, what they reached, who may sign off."""

import uuid

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from assessments.actions.calibration import authorise, set_requirement, withdraw_authority
from assessments.forms.calibration import RequirementForm, WithdrawForm
from assessments.models import AssessorRequirement
from assessments.programfile.quantities import write_share
from assessments.queries.calibration.assessors import assessor_row, assessors_of
from assessments.queries.calibration.authority import requirement_of
from assessments.queries.calibration.evidence import section_of
from assessments.queries.scope import drafts_visible_to
from training.actions.permission import require_lead
from training.models import Person, Program
from training.views.refusals import act, act_or_say
from training.views.who import person_of


def led_program(person: Person, pk: uuid.UUID) -> Program:
    """Return the program; Http404 for a stranger, PermissionDenied for who does not lead it."""
    program = get_object_or_404(drafts_visible_to(person).select_related("provider"), pk=pk)
    require_lead(person, program.provider)
    return program


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def assessors(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show the assessors with their figures; set what the program asks of them."""
    person = person_of(request)
    program = led_program(person, pk)
    if request.method == "POST":
        form = RequirementForm(request.POST)
        if form.is_valid():
            values = form.cleaned_data
            asked = act(form, set_requirement, actor=person, program=program, **values)
            if asked is not None:
                messages.success(request, _("From now on this is asked of who signs off."))
                return redirect("assessors", program.pk)
    else:
        form = RequirementForm(initial=_asked(requirement_of(program)))
    context = {"program": program, "found": assessors_of(program), "form": form, "person": person}
    status = 422 if form.errors else 200
    return render(request, "assessments/calibration/assessors.html", context, status=status)


def _asked(requirement: AssessorRequirement | None) -> dict[str, object]:
    if requirement is None:
        return {"pieces": 2, "months": 12, "exact": "80 %", "bias": "10 %"}
    return {
        "pieces": requirement.pieces,
        "months": requirement.months,
        "exact": write_share(requirement.exact),
        "bias": write_share(requirement.bias),
    }


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def assessor(request: HttpRequest, pk: uuid.UUID, person: int) -> HttpResponse:
    """Show one assessor's sittings and figures; authorise, or withdraw the authority."""
    lead = person_of(request)
    program = led_program(lead, pk)
    found = get_object_or_404(Person, pk=person)
    row = assessor_row(program, found)
    if row is None:
        raise Http404(_("This person does not assess the program."))
    here = redirect("assessor", program.pk, found.pk)
    form = WithdrawForm(request.POST if "withdraw" in request.POST else None)
    if "authorise" in request.POST:
        given = act_or_say(request, authorise, actor=lead, program=program, assessor=found)
        if given is not None and given.until is not None:
            day = f"{given.until:%d %b %Y}"
            messages.success(
                request,
                _("{found} may sign off until {day}, that day included.").format(
                    found=found, day=day
                ),
            )
        return here
    if form.is_valid():
        reason = form.cleaned_data["reason"]
        taken = act(
            form, withdraw_authority, actor=lead, program=program, assessor=found, reason=reason
        )
        if taken is not None:
            messages.success(
                request, _("From now on {found} may score, and not sign off.").format(found=found)
            )
            return here
    context = {
        "program": program,
        "requirement": requirement_of(program),
        "row": row,
        "own": found == lead,
        "section": section_of(row.sat),
        "form": form,
    }
    status = 422 if form.errors else 200
    return render(request, "assessments/calibration/assessor.html", context, status=status)
