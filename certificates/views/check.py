"""Checking a record, without an account: by the number that stands on it."""

from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from certificates.actions.guesses import count_wrong_number, too_many_wrong_numbers
from certificates.actions.looks import note_check
from certificates.forms.check import NumberForm
from certificates.keys import SIGNS, keystore_of
from certificates.numbers import read_number
from certificates.queries.check import Checked, check_number
from certificates.views.answers import as_answer, in_english, later, unlisted
from certificates.views.checked import as_json, facts
from training.models import Organisation

GONE = 410  # RFC 9110, 15.5.11: it was here, and will not be again
TOO_MANY = N_(
    "Too many numbers that belong to no record were tried from your network. "
    "Wait 15 minutes, then try again with the number as it stands on the record."
)


@login_not_required
@require_safe
@never_cache
def check(request: HttpRequest) -> HttpResponse:
    """Ask for the number of a record, then go to its page."""
    form = NumberForm(request.GET if "number" in request.GET else None)
    if form.is_valid():
        return redirect("check_record", form.cleaned_data["number"])
    return _form_page(request, form, status=422 if form.errors else 200)


@login_not_required
@require_safe
@never_cache
def check_record(request: HttpRequest, number: str) -> HttpResponse:
    """Say whether a record is genuine, whose it is, what for, and whether it holds today."""
    form = NumberForm({"number": number})
    if not form.is_valid():
        return _form_page(request, form, status=404)
    meant = form.cleaned_data["number"]
    if meant != number:
        return redirect("check_record", meant)
    if too_many_wrong_numbers(request):
        return later(render(request, "certificates/check_too_many.html", {"why": _(TOO_MANY)}))
    found = check_number(meant)
    if found is None:
        count_wrong_number(request)
        context = {"number": meant, "form": NumberForm(initial={"number": meant})}
        return unlisted(render(request, "certificates/check_unknown.html", context, status=404))
    if found.erased:
        page = render(request, "certificates/check_erased.html", {"checked": found}, status=GONE)
        return unlisted(page)
    note_check(request=request, number=meant)
    context = {
        "checked": found,
        "record": found.document,
        "facts": facts(found.document),
        "form": NumberForm(),
    }
    return unlisted(render(request, "certificates/check_record.html", context))


@login_not_required
@require_safe
@never_cache
@in_english
def check_record_json(request: HttpRequest, number: str) -> HttpResponse:
    """Say the same as ``check_record`` for a program to read."""
    found = checked_or_answer(request, number)
    return found if isinstance(found, HttpResponse) else as_answer(as_json(found), 200)


def checked_or_answer(request: HttpRequest, number: str) -> Checked | HttpResponse:
    """Check a record for a program; where there is nothing to check, return the answer to give."""
    try:
        meant = read_number(number)
    except ValueError as error:
        return as_answer({"number": number, "status": "not_a_number", "detail": str(error)}, 404)
    if too_many_wrong_numbers(request):
        return later(as_answer({"number": meant, "status": "too_many", "detail": TOO_MANY}, 429))
    found = check_number(meant)
    if found is None:
        count_wrong_number(request)
        return as_answer({"number": meant, "status": "unknown"}, 404)
    if found.erased:
        return as_answer({"number": meant, "status": "erased", "detail": found.faults[0]}, GONE)
    note_check(request=request, number=meant)
    return found


@login_not_required
@require_safe
def check_root(request: HttpRequest, pk: int) -> HttpResponse:
    """Give the root certificates of an issuer, for readers that check its files themselves."""
    organisation = Organisation.objects.filter(pk=pk, kind__in=SIGNS).first()
    pem = keystore_of(organisation).roots_pem() if organisation else b""
    if not pem:
        raise Http404(_("Nothing was signed here by such an issuer."))
    response = HttpResponse(pem, content_type="application/x-pem-file")
    response["Content-Disposition"] = f'attachment; filename="issuer-{pk}-root.pem"'
    return response


def _form_page(request: HttpRequest, form: NumberForm, status: int) -> HttpResponse:
    return render(request, "certificates/check.html", {"form": form}, status=status)
