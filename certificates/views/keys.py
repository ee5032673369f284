"""The signing keys of a provider: which is in use, giving one up, issuing again."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_
from django.utils.translation import ngettext
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from certificates.actions.status.compromise import declare_compromise, issue_again
from certificates.forms.status import CompromiseForm
from certificates.queries.keys import SigningKey, doubtful_records, signing_keys
from certificates.signing import KeyStoreError
from training.errors import Refused
from training.models import Organisation, Person
from training.queries.scope import provider_organisations
from training.views.refusals import act
from training.views.sent import sent
from training.views.who import person_of

# One press issues so many again: each is drawn and signed, which takes about a second.
AT_ONCE = 10
UNREADABLE = N_("The keys of this provider cannot be read. Ask whoever runs the server to look.")


@require_safe
@never_cache
def issuer_keys(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the signing keys, and the records that one given up made doubtful."""
    _unused, provider = _led(request, pk)
    return render(
        request,
        "certificates/keys.html",
        {
            "provider": provider,
            "keys": _keys(request, provider),
            "doubtful": doubtful_records(provider),
            "at_once": AT_ONCE,
        },
    )


@sensitive_post_parameters("password")
@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def key_compromise(request: HttpRequest, pk: int, sha256: str) -> HttpResponse:
    """Declare that others may have had a key."""
    lead, provider = _led(request, pk)
    key = next((each for each in _keys(request, provider) if each.sha256 == sha256), None)
    if key is None:
        raise Http404(_("No such key is known here."))
    form = CompromiseForm(sent(request), request=request, lead=lead)
    if request.method == "POST" and form.is_valid():
        given: dict[str, Any] = {
            name: form.cleaned_data[name] for name in ("doubtful_from", "reason")
        }
        made = act(
            form,
            declare_compromise,
            actor=lead,
            provider=provider,
            certificate_sha256=sha256,
            password_checked=True,
            **given,
        )
        if made is not None:
            messages.success(request, _("The key is given up, and another one signs from now on."))
            return redirect("issuer_keys", provider.pk)
    return render(
        request,
        "certificates/key_compromise.html",
        {"provider": provider, "key": key, "form": form},
        status=422 if form.errors else 200,
    )


@require_POST
def issue_doubtful(request: HttpRequest, pk: int) -> HttpResponse:
    """Issue the next doubtful records again; the page then says how many are left."""
    lead, provider = _led(request, pk)
    issued = 0
    for record in doubtful_records(provider)[:AT_ONCE]:
        try:
            issue_again(actor=lead, record=record)
        except Refused as refused:
            messages.error(request, f"{record.number}: {refused.message}")
            continue
        issued += 1
    if issued:
        messages.success(
            request,
            ngettext(
                "{count} record is issued again. Each holder is told by e-mail.",
                "{count} records are issued again. Each holder is told by e-mail.",
                issued,
            ).format(count=issued),
        )
    return redirect("issuer_keys", provider.pk)


def _led(request: HttpRequest, pk: int) -> tuple[Person, Organisation]:
    person = person_of(request)
    return person, get_object_or_404(provider_organisations(person), pk=pk)


def _keys(request: HttpRequest, provider: Organisation) -> list[SigningKey]:
    try:
        return signing_keys(provider, timezone.now())
    except KeyStoreError:
        messages.error(request, _(UNREADABLE))
        return []
