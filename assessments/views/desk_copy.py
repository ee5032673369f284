"""Copying a program to a new site."""

import uuid

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from assessments.actions.program_copy import NotCopied, copy_program
from assessments.forms.desk import CopyForm
from assessments.queries.program_document import program_document
from assessments.queries.scope import drafts_visible_to
from training.errors import Refused
from training.models import Person, Program
from training.queries.scope import is_lead
from training.views.refusals import show
from training.views.sent import sent
from training.views.who import person_of


@require_http_methods(["GET", "HEAD", "POST"])
def program_copy(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Copy a program, with each dimension and limit open to be adapted beside its source."""
    person = person_of(request)
    program = get_object_or_404(drafts_visible_to(person).select_related("provider"), pk=pk)
    if not is_lead(person, program.provider):
        raise PermissionDenied(
            _("Only a training lead of {provider} may do this.").format(provider=program.provider)
        )
    try:
        form = CopyForm(sent(request), document=program_document(program))
    except Refused as refused:
        messages.error(request, refused.message)
        return redirect("program", program.pk)
    copy = _copy(form, person, program) if form.is_valid() else None
    if copy is not None:
        messages.success(
            request,
            _("{copy} is made of {code}, version {version}. Read it here.").format(
                copy=copy, code=program.code, version=program.version
            ),
        )
        return redirect("standard", copy.pk)
    context = {"form": form, "program": program}
    status = 422 if form.errors else 200
    return render(request, "assessments/desk/copy.html", context, status=status)


def _copy(form: CopyForm, person: Person, program: Program) -> Program | None:
    """Return the copy; None where it was refused, with each reason at its field."""
    try:
        return copy_program(actor=person, program=program, typed=form.typed())
    except NotCopied as refused:
        for name, sentence in refused.faults:
            form.add_error(name if name in form.fields else None, sentence)
    except Refused as refused:
        show(form, refused)
    return None
