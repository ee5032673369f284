"""Handing in what a module is taught from, and fetching it."""

import uuid

from django.contrib import messages
from django.http import FileResponse, Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.csrf import csrf_exempt, csrf_protect
from django.views.decorators.http import require_http_methods, require_safe

from training.actions.materials import add_material
from training.actions.permission import require_lead
from training.forms.materials import MaterialForm
from training.models import Program
from training.queries.materials import LARGEST_BYTES, materials_visible_to
from training.queries.scope import programs_visible_to
from training.uploads import AtMost
from training.views.refusals import act
from training.views.who import person_of


# The limit has to stand before the form is read, and checking the token reads it: so the check
# of the token is left to the view inside.
@csrf_exempt
@require_http_methods(["GET", "HEAD", "POST"])
def material_new(request: HttpRequest, pk: uuid.UUID) -> HttpResponseBase:
    """Hand in a file for a module."""
    limit = AtMost(request, LARGEST_BYTES)
    request.upload_handlers.insert(0, limit)
    return _material_new(request, pk, limit)


@csrf_protect
def _material_new(request: HttpRequest, pk: uuid.UUID, limit: AtMost) -> HttpResponse:
    person = person_of(request)
    program = get_object_or_404(programs_visible_to(person).select_related("provider"), pk=pk)
    require_lead(person, program.provider)
    if request.method == "POST":
        data, files = request.POST, request.FILES
        form = MaterialForm(data, files, program=program, too_large=limit.exceeded)
    else:
        form = MaterialForm(program=program, initial=_asked_for(request, program))
    if form.is_valid():
        values = dict(form.cleaned_data)
        values["upload"] = values.pop("file")
        kept = act(form, add_material, actor=person, program=program, **values)
        if kept is not None:
            messages.success(
                request,
                _("{kept} is kept with {module_key}.").format(
                    kept=kept, module_key=kept.module_key
                ),
            )
            return redirect("program", program.pk)
    context = {"form": form, "program": program}
    status = 422 if form.errors else 200
    return render(request, "training/desk/material_new.html", context, status=status)


def _asked_for(request: HttpRequest, program: Program) -> dict[str, object]:
    """Return what the link names: the module by its key, and the title of a further version."""
    return {
        "module": program.modules.filter(key=request.GET.get("module", "")).first(),
        "title": request.GET.get("title", ""),
    }


@require_safe
def material_file(request: HttpRequest, pk: uuid.UUID) -> HttpResponseBase:
    """Hand out the file as it was handed in, never shown inside the page."""
    found = get_object_or_404(materials_visible_to(person_of(request)), pk=pk)
    try:
        stored = found.file.open("rb")
    except FileNotFoundError:
        raise Http404(_("The file is not in the storage: bring it back from a backup.")) from None
    response = FileResponse(
        stored,
        as_attachment=True,
        filename=found.name,
        content_type="application/octet-stream",
    )
    response["Content-Length"] = str(found.size)
    response["X-Content-Type-Options"] = "nosniff"
    return response
