"""The own account: how one reads, how one signs in; the language for whoever has no account."""

from django.conf import settings
from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import check_for_language
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods, require_POST

from training.actions.reading import choose_reading
from training.forms.account import ReadingForm
from training.models import Person
from training.views.who import person_of


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def account(request: HttpRequest) -> HttpResponse:
    """Show the own account and save how the person reads."""
    person = person_of(request)
    form = ReadingForm(
        request.POST or None,
        initial={"language": person.language, "lengths": person.lengths},
    )
    if request.method == "POST" and form.is_valid():
        choose_reading(person=person, **form.cleaned_data)
        messages.success(request, _("Saved."))
        return redirect("account")
    return render(request, "training/account/account.html", {"form": form})


@csrf_exempt  # see templates/includes/languages.html
@login_not_required
@require_POST
def language(request: HttpRequest) -> HttpResponse:
    """Take another language, for the account or else by a cookie, and go back to the page."""
    back = request.headers.get("Referer", "")
    if not url_has_allowed_host_and_scheme(
        back, {request.get_host()}, require_https=request.is_secure()
    ):
        back = reverse("home")
    wanted = request.POST.get("language", "")
    response = redirect(back)
    if wanted not in dict(settings.LANGUAGES) or not check_for_language(wanted):
        messages.error(request, _("There is no such language here."))
        return response
    if isinstance(request.user, Person):
        choose_reading(person=request.user, language=wanted, lengths=request.user.lengths)
    response.set_cookie(
        settings.LANGUAGE_COOKIE_NAME,
        wanted,
        max_age=settings.LANGUAGE_COOKIE_AGE,
        secure=settings.LANGUAGE_COOKIE_SECURE,
        httponly=settings.LANGUAGE_COOKIE_HTTPONLY,
        samesite="Lax",
    )
    return response
