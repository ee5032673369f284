"""Signing in by an e-mailed link or a passkey; keeping the passkeys of the own account."""

from django.contrib import messages
from django.contrib.auth import login
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme, urlencode
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from training.actions.passkeys import add_passkey, remove_passkey, use_passkey
from training.actions.sign_in_links import ask_for_link, mail_password_link, use_link
from training.forms.passwordless import LinkForm, PasskeyForm
from training.models import Passkey, Person
from training.network import network_digest
from training.passkeys import options_to_add, options_to_sign_in, passkeys_possible
from training.queries.sign_in_links import live_link
from training.sessions import new_challenge, signed_in_lately, take_challenge
from training.views.refusals import act, act_or_say
from training.views.who import person_of

BACKEND = "django.contrib.auth.backends.ModelBackend"
PURPOSE_LINK = "training.sign_in_links"
SIGN_IN = "sign in"
LONGEST_NEXT = 1000


@login_not_required
@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def sign_in_link_ask(request: HttpRequest) -> HttpResponse:
    """Take the address that a link is to be sent to; the answer is one for all addresses."""
    following = _following(request)
    form = LinkForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        act(
            form,
            ask_for_link,
            email=form.cleaned_data["username"],
            source=network_digest(request, PURPOSE_LINK),
            following=following,
        )
        if not form.errors:
            return redirect("sign_in_link_sent")
        status = 429
    else:
        status = 422 if form.errors else 200
    context = {"form": form, "next": following}
    return render(request, "training/sign_in_link_ask.html", context, status=status)


@login_not_required
@require_safe
def sign_in_link_sent(request: HttpRequest) -> HttpResponse:
    """Say where to look for the link."""
    return render(request, "training/sign_in_link_sent.html")


@login_not_required
@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def sign_in_link(request: HttpRequest, token: str) -> HttpResponse:
    """Show a button, since mail servers open links to look at them; the button signs in."""
    following = _following(request)
    if request.method == "POST":
        person = use_link(token=token)
        if person is not None:
            return _signed_in(request, person, following)
        link = None
    else:
        link = live_link(token)
    context = {"link": link, "next": following}
    return render(request, "training/sign_in_link.html", context, status=200 if link else 410)


@login_not_required
@require_POST
@never_cache
def passkey_sign_in_options(request: HttpRequest) -> HttpResponse:
    """Give the page's script what it asks the device with."""
    return JsonResponse(options_to_sign_in(new_challenge(request, SIGN_IN)))


@login_not_required
@require_POST
@never_cache
def passkey_sign_in(request: HttpRequest) -> HttpResponse:
    """Sign in with the device's answer."""
    following = _following(request)
    person = act_or_say(
        request,
        use_passkey,
        answer=request.POST.get("answer", ""),
        challenge=take_challenge(request, SIGN_IN),
    )
    if person is None:
        again = reverse("sign_in")
        return redirect(f"{again}?{urlencode({'next': following})}" if following else again)
    return _signed_in(request, person, following)


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def passkey_new(request: HttpRequest) -> HttpResponse:
    """Add a passkey to the own account, soon after signing in."""
    person = person_of(request)
    fresh = signed_in_lately(request)
    form = PasskeyForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and fresh and form.is_valid():
        passkey = act(
            form,
            add_passkey,
            person=person,
            name=form.cleaned_data["name"],
            answer=form.cleaned_data["answer"],
            challenge=take_challenge(request, _adding(person)),
        )
        if passkey is not None:
            messages.success(
                request,
                _("{name} is added. From now on it signs you in.").format(name=passkey.name),
            )
            return redirect("account")
    context = {"form": form, "fresh": fresh, "possible": passkeys_possible()}
    status = 422 if request.method == "POST" else 200
    return render(request, "training/account/passkey_new.html", context, status=status)


@require_POST
@never_cache
def passkey_new_options(request: HttpRequest) -> HttpResponse:
    """Give the page's script what it asks the device with."""
    person = person_of(request)
    held = [bytes(each) for each in person.passkeys.values_list("credential_id", flat=True)]
    return JsonResponse(options_to_add(person, held, new_challenge(request, _adding(person))))


@require_POST
def passkey_remove(request: HttpRequest, pk: int) -> HttpResponse:
    """Take away a passkey of the own account."""
    person = person_of(request)
    passkey = get_object_or_404(Passkey, pk=pk, person=person)
    remove_passkey(person=person, passkey=passkey)
    messages.success(
        request,
        _("{name} signs you in no longer. Delete it on the device as well.").format(
            name=passkey.name
        ),
    )
    return redirect("account")


@require_POST
def own_password_link(request: HttpRequest) -> HttpResponse:
    """Send a link for a first password to the own address."""
    person = person_of(request)
    act_or_say(request, _sent_password_link, request, person)
    return redirect("account")


def _sent_password_link(request: HttpRequest, person: Person) -> None:
    mail_password_link(person=person)
    messages.success(
        request,
        _("A link to set your password is on its way to {email}.").format(email=person.email),
    )


def _signed_in(request: HttpRequest, person: Person, following: str) -> HttpResponse:
    """Start a session of its own for ``person`` and go on to a page of this site."""
    login(request, person, backend=BACKEND)
    return redirect(following or "home")


def _following(request: HttpRequest) -> str:
    """Return the page of this site that is to come next; nothing for anything else."""
    wanted = request.POST.get("next") or request.GET.get("next") or ""
    fits = len(wanted) <= LONGEST_NEXT and url_has_allowed_host_and_scheme(
        wanted, {request.get_host()}, require_https=request.is_secure()
    )
    return wanted if fits else ""


def _adding(person: Person) -> str:
    return f"add to {person.pk}"
