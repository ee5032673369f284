"""Erasing a person, after saying what goes and what stays."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from training.actions.erasure import erase_person, require_may_erase
from training.forms.consents import EraseForm
from training.privacy.erasing import KEPT, blocks_of
from training.queries.scope import people_visible_to
from training.views.refusals import act
from training.views.sent import sent
from training.views.who import person_of


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def person_erase(request: HttpRequest, pk: int) -> HttpResponse:
    """Say what stands in the way, what goes and what stays; POST erases."""
    lead = person_of(request)
    found = get_object_or_404(people_visible_to(lead), pk=pk)
    require_may_erase(lead, found)
    form = EraseForm(sent(request))
    if request.method == "POST" and form.is_valid():
        erasure = act(form, erase_person, actor=lead, person=found, **form.cleaned_data)
        if erasure is not None:
            messages.success(
                request,
                _("Done. {pseudonym} stands where the name stood.").format(
                    pseudonym=erasure.pseudonym
                ),
            )
            return redirect("people")
    context = {
        "found": found,
        "form": form,
        "in_the_way": blocks_of(found, in_writing=False),
        "stays": KEPT,
    }
    status = 422 if form.errors else 200
    return render(request, "training/privacy/erase.html", context, status=status)
