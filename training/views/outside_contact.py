"""Who outside a provider hears complaints that none of its leads can answer."""

from email.utils import parseaddr

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from training.actions.outside_contact import name_outside_contact
from training.forms.evaluation import OutsideContactForm
from training.queries.scope import provider_organisations
from training.views.refusals import act
from training.views.sent import sent
from training.views.who import person_of


@require_http_methods(["GET", "HEAD", "POST"])
def outside_contact(request: HttpRequest, pk: int) -> HttpResponse:
    """Name the outside contact of a provider that one leads."""
    person = person_of(request)
    provider = get_object_or_404(provider_organisations(person), pk=pk)
    name, email = parseaddr(provider.outside_contact)
    form = OutsideContactForm(sent(request), initial={"name": name, "email": email})
    if request.method == "POST" and form.is_valid():
        act(form, name_outside_contact, actor=person, provider=provider, **form.cleaned_data)
        if not form.errors:
            messages.success(request, _("Kept."))
            return redirect("people")
    context = {"provider": provider, "form": form}
    status = 422 if form.errors else 200
    return render(request, "training/evaluation/outside_contact.html", context, status=status)
