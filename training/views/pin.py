"""The own PIN, on the own account."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST

from training.actions.pins import remove_pin, set_pin
from training.errors import Refused
from training.forms.pin import PinForm
from training.models import Pin
from training.views.refusals import show
from training.views.who import person_of


@sensitive_post_parameters("pin", "again")
@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def account_pin(request: HttpRequest) -> HttpResponse:
    """Choose a PIN, or another one."""
    person = person_of(request)
    form = PinForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        try:
            set_pin(person=person, **form.cleaned_data)
        except Refused as refused:
            show(form, refused)
        else:
            messages.success(request, _("Your PIN is set."))
            return redirect("account")
    context = {"form": form, "has_pin": Pin.objects.filter(person=person).exists()}
    return render(
        request, "training/account/pin_set.html", context, status=422 if form.errors else 200
    )


@require_POST
def account_pin_remove(request: HttpRequest) -> HttpResponse:
    """Take the own PIN away."""
    remove_pin(person=person_of(request))
    messages.success(request, _("Your PIN is removed."))
    return redirect("account")
