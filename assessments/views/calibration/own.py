"""For the assessor: what is asked, and what came of it."""

import uuid

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from assessments.actions.calibration import start_sitting
from assessments.queries.calibration.evidence import section_of
from assessments.queries.calibration.own import own_calibration
from assessments.queries.calibration.scope import pieces_visible_to
from training.models import Role
from training.queries.scope import roles_of
from training.views.refusals import act_or_say
from training.views.who import person_of


@require_safe
@never_cache
def calibration(request: HttpRequest) -> HttpResponse:
    """Show, for each program, what is asked, the pieces to score and the own figures."""
    person = person_of(request)
    if not roles_of(person) & {Role.Kind.LEAD, Role.Kind.INSTRUCTOR}:
        raise PermissionDenied(_("Only who leads or teaches scores reference pieces."))
    rows = [(own, section_of(own.sat[::-1])) for own in own_calibration(person)]
    return render(request, "assessments/calibration/calibration.html", {"rows": rows})


@require_POST
def sitting_start(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Begin to score a piece, or go on with it."""
    person = person_of(request)
    piece = get_object_or_404(pieces_visible_to(person).select_related("standard"), pk=pk)
    sitting = act_or_say(request, start_sitting, actor=person, piece=piece)
    return redirect("calibration") if sitting is None else redirect("sitting", sitting.pk)
