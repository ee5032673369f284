"""For the lead: reference pieces with their agreed scores."""

import uuid

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST

from assessments.actions.calibration import (
    add_reference_piece,
    change_reference_piece,
    retire_reference_piece,
)
from assessments.engine.judge import judge_value
from assessments.engine.standard import load_standard
from assessments.forms.calibration import AgreedForms, PieceForm
from assessments.models import ReferencePiece, SealedStandard
from assessments.queries.calibration.scope import pieces_visible_to
from assessments.views.calibration.assessors import led_program
from training.actions.permission import require_lead
from training.errors import Refused
from training.models import Person
from training.views.refusals import act_or_say, show
from training.views.sent import sent
from training.views.who import person_of


def led_piece(person: Person, pk: uuid.UUID) -> ReferencePiece:
    """Return the piece; Http404 for a stranger, PermissionDenied for who does not lead."""
    pieces = pieces_visible_to(person).select_related("standard__program__provider", "made_by")
    piece = get_object_or_404(pieces, pk=pk)
    require_lead(person, piece.standard.program.provider)
    return piece


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def reference_new(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Add a piece under the standard that new attempts use."""
    person = person_of(request)
    program = led_program(person, pk)
    standard = SealedStandard.objects.filter(program=program).order_by("-serial").first()
    context: dict[str, object] = {"program": program, "standard": standard}
    if standard is None:
        return render(request, "assessments/calibration/reference_new.html", context)
    form, agreed = PieceForm(sent(request)), AgreedForms(standard.document, sent(request))
    # Both are asked, so that every fault is shown at once.
    if form.is_valid() & agreed.is_valid():
        try:
            piece = add_reference_piece(
                actor=person, standard=standard, agreed=agreed.value(), **form.cleaned_data
            )
        except Refused as refused:
            if not agreed.show(refused):
                show(form, refused)
        else:
            messages.success(request, _("{piece} can be scored from now on.").format(piece=piece))
            return redirect("reference", piece.pk)
    context |= {"form": form, "agreed": agreed}
    status = 422 if form.errors or agreed.faulty else 200
    return render(request, "assessments/calibration/reference_new.html", context, status=status)


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def reference(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show a piece with its agreed scores and who scored it; change it while that can be."""
    person = person_of(request)
    piece = led_piece(person, pk)
    sittings = list(piece.sittings.select_related("assessor"))
    first = {name: getattr(piece, name) for name in ("title", "description", "agreed_by")}
    form = PieceForm(sent(request), initial=first)
    agreed = None
    if sittings:
        del form.fields["agreed_by"]
    else:
        agreed = AgreedForms(piece.standard.document, sent(request), piece.agreed)
    if form.is_valid() & (agreed is None or agreed.is_valid()):
        values = {"agreed_by": piece.agreed_by, **form.cleaned_data}
        scores = agreed.value() if agreed is not None else piece.agreed
        try:
            change_reference_piece(actor=person, piece=piece, agreed=scores, **values)
        except Refused as refused:
            if agreed is None or not agreed.show(refused):
                show(form, refused)
        else:
            messages.success(request, _("Changed."))
            return redirect("reference", piece.pk)
    standard = load_standard(piece.standard.document)
    context = {
        "piece": piece,
        "program": piece.standard.program,
        "sittings": sittings,
        "scores": [
            (criterion, judge_value(criterion, piece.agreed[criterion.key]))
            for criterion in standard.criteria
            if criterion.key in piece.agreed
        ],
        "form": form,
        "agreed": agreed,
    }
    status = 422 if form.errors or (agreed and agreed.faulty) else 200
    return render(request, "assessments/calibration/reference.html", context, status=status)


@require_POST
def reference_retire(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Take a piece out of use."""
    person = person_of(request)
    piece = led_piece(person, pk)
    if act_or_say(request, retire_reference_piece, actor=person, piece=piece):
        messages.success(
            request,
            _("{piece} is retired: nobody begins to score it any more.").format(piece=piece),
        )
    return redirect("reference", piece.pk)
