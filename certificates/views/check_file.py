"""Checking the file of a record, without an account: somebody sends it, nothing of it is kept.

These addresses write nothing on anybody's behalf, so they need no token against forged requests:
a program may post to them, and the body is read by a handler that keeps little of it.
"""

import logging
from typing import Any
from zoneinfo import ZoneInfo

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.http.multipartparser import MultiPartParserError
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods, require_POST

from certificates.actions.uploads import LIMIT, count_sent_file
from certificates.forms.check import FileForm
from certificates.forms.one_file import OneFile
from certificates.models import Submittal
from certificates.queries.check_file import CheckedFile, check_file
from certificates.queries.steps import NOT_CHECKED, TO_DO, WRONG
from certificates.queries.submittals import submittal_in
from certificates.sandbox import Busy, NotStarted
from certificates.signing import KeyStoreError
from certificates.submittal.facts import numbers_in
from certificates.views.answers import as_answer, in_english, later, unlisted
from certificates.views.checked import facts, file_as_json, submittal_as_json
from training.said import said

log = logging.getLogger(__name__)

TOO_MANY = N_(
    "More than {count} files were sent from your network within 15 minutes. Wait 15 minutes, then "
    "send this one again; or check it by its number."
)
NOT_NOW = N_(
    "The file could not be checked here just now, which says nothing about the file. Whoever runs "
    "this server was told in its log. Try later, or check the record by its number."
)
BROKEN_OFF = N_("What was sent ended before the file did. Send it again.")


@csrf_exempt
@login_not_required
@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def check_file_page(request: HttpRequest) -> HttpResponse:
    """Ask for the file of a record; say whether it is the one that its issuer signed."""
    if request.method != "POST":
        form = FileForm(initial={"number": request.GET.get("number", "")})
        return render(request, "certificates/check_file.html", {"form": form})
    form = _sent(request)
    if not form.is_valid():
        return render(request, "certificates/check_file.html", {"form": form}, status=422)
    found = _checked(request, form)
    if isinstance(found, HttpResponse):
        return found
    if isinstance(found, Submittal):
        return _submittal_page(request, found)
    wrong = next((step.key for step in found.steps if step.state == WRONG), None)
    context = {
        "checked": found,
        "record": found.document,
        "facts": facts(found.document),
        "name": form.cleaned_data["file"].name,
        "good": [step for step in found.steps if step.state not in (WRONG, NOT_CHECKED)],
        "skipped": [step for step in found.steps if step.state == NOT_CHECKED],
        "to_do": TO_DO.get(wrong or ""),
        "form": FileForm(),
    }
    return unlisted(render(request, "certificates/check_file_result.html", context))


@csrf_exempt
@login_not_required
@require_POST
@never_cache
@in_english
def check_file_json(request: HttpRequest) -> HttpResponse:
    """Say the same for a program: ``file`` and perhaps ``number`` as multipart/form-data."""
    form = _sent(request)
    if not form.is_valid():
        detail = " ".join(str(error) for errors in form.errors.values() for error in errors)
        return as_answer({"status": "nothing_to_check", "detail": detail}, 422)
    found = _checked(request, form, as_data=True)
    if isinstance(found, Submittal):
        return as_answer(submittal_as_json(found), 200)
    return found if isinstance(found, HttpResponse) else as_answer(file_as_json(found), 200)


def _submittal_page(request: HttpRequest, submittal: Submittal) -> HttpResponse:
    """Say that the file is a contractor's submittal as it was signed, and what to do next."""
    context = {
        "submittal": submittal,
        "numbers": numbers_in(submittal.document),
        "latest": submittal.project.submittals.order_by("-number").first(),
        "form": FileForm(),
    }
    with timezone.override(ZoneInfo(submittal.project.time_zone)):
        page = render(request, "certificates/check_file_submittal.html", context)
    return unlisted(page)


def _sent(request: HttpRequest) -> FileForm:
    """Read the body; what was cut off on its way is told at the field."""
    request.upload_handlers = [OneFile(request)]
    try:
        return FileForm(request.POST, request.FILES)
    except (MultiPartParserError, OSError):
        form = FileForm({})
        form.full_clean()
        form.errors["file"] = form.error_class([_(BROKEN_OFF)])
        return form


def _checked(
    request: HttpRequest, form: FileForm, *, as_data: bool = False
) -> CheckedFile | Submittal | HttpResponse:
    """Return what was found, or the answer that says why nothing was checked."""
    if not count_sent_file(request):
        return later(
            _not_checked(request, "too_many", _(TOO_MANY).format(count=LIMIT), 429, as_data=as_data)
        )
    pdf = form.cleaned_data["file"].read()
    submittal = submittal_in(pdf)
    if submittal is not None:
        return submittal
    try:
        return check_file(pdf, form.cleaned_data["number"] or None)
    except Busy as busy:
        response = _not_checked(request, "busy", said(str(busy)), 503, as_data=as_data)
        response["Retry-After"] = "60"
        return response
    except (NotStarted, KeyStoreError):
        log.exception("a file that was sent could not be checked")
        return _not_checked(request, "not_now", _(NOT_NOW), 503, as_data=as_data)


def _not_checked(
    request: HttpRequest, status: str, why: str, code: int, *, as_data: bool
) -> HttpResponse:
    if as_data:
        return as_answer({"status": status, "detail": why}, code)
    context: dict[str, Any] = {"why": why, "too_many": status == "too_many"}
    page = render(request, "certificates/check_file_not_now.html", context, status=code)
    return unlisted(page)
