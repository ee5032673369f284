"""The open form of records for other systems: credentials, keys and status lists.

Anybody may read them, from a page of any other site too.
"""

import json
from typing import Any

from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.views.decorators.cache import cache_control, never_cache
from django.views.decorators.http import require_safe

from certificates.actions.credentials import KeyUnusable, make_credential, signed_by
from certificates.credentials.controller import controller_document
from certificates.credentials.status_list import CACHED, PURPOSES, list_credential
from certificates.keys import credential_keys_of
from certificates.models import Credential, Record
from certificates.queries.credentials import issuer_address, list_address, set_indices
from certificates.queries.standing import with_standing
from certificates.views.answers import as_answer, in_english, unlisted
from certificates.views.check import checked_or_answer
from certificates.views.checked import as_json
from training.errors import Refused
from training.models import Organisation

CREDENTIAL = "application/vc"
CONTROLLER = "application/cid"


@login_not_required
@require_safe
@never_cache
@in_english
def check_credential(request: HttpRequest, number: str) -> HttpResponse:
    """Give the record as an Open Badges 3.0 credential, after checking it as its page does."""
    checked = checked_or_answer(request, number)
    if isinstance(checked, HttpResponse):
        return checked
    if checked.faults or checked.standing is None:
        return as_answer(as_json(checked), 503)
    record = (
        with_standing(Record.objects.select_related("provider"))
        .defer(None)
        .get(number=checked.number)
    )
    try:
        credential = make_credential(record=record, at=timezone.now())
    except KeyUnusable as refused:
        return as_answer({**as_json(checked), "detail": str(refused)}, 503)
    except Refused as refused:
        return as_answer({**as_json(checked), "detail": str(refused)}, 404)
    response = _published(credential.document, CREDENTIAL)
    response["Content-Disposition"] = f'attachment; filename="credential-{checked.number}.json"'
    return unlisted(response)


@login_not_required
@require_safe
@cache_control(public=True, max_age=int(CACHED.total_seconds()))
def issuer_controller(request: HttpRequest, pk: int) -> HttpResponse:
    """Give the public keys that an issuer signs credentials with."""
    provider = get_object_or_404(Organisation, pk=pk, kind=Organisation.Kind.PROVIDER)
    keys = credential_keys_of(provider).public()
    if not keys:
        raise Http404("No credential of such an issuer was signed here.")
    return _published(controller_document(issuer_address(pk), keys), CONTROLLER)


@login_not_required
@require_safe
@cache_control(public=True, max_age=int(CACHED.total_seconds()))
@in_english
def issuer_status(request: HttpRequest, pk: int, purpose: str, number: int) -> HttpResponse:
    """Give one of the issuer's status lists as it stands now, signed."""
    provider = get_object_or_404(Organisation, pk=pk, kind=Organisation.Kind.PROVIDER)
    placed = Credential.objects.filter(provider=provider, list_number=number)
    if purpose not in PURPOSES or not placed.exists():
        raise Http404("There is no such status list.")
    now = timezone.now().replace(microsecond=0)
    unsigned = list_credential(
        list_address(pk, purpose, number),
        purpose=purpose,
        issuer=issuer_address(pk),
        indices=set_indices(provider, purpose, number),
        at=now,
    )
    try:
        return _published(signed_by(provider, unsigned, at=now), CREDENTIAL)
    except KeyUnusable as refused:
        return as_answer({"status": "not_now", "detail": str(refused)}, 503)


def _published(document: dict[str, Any], content_type: str) -> HttpResponse:
    response = HttpResponse(
        json.dumps(document, ensure_ascii=False, indent=2), content_type=content_type
    )
    response["Access-Control-Allow-Origin"] = "*"
    return response
