"""Photographs and losses as devices send them, and a photograph as people see it."""

import json
import uuid
from collections.abc import Callable
from functools import wraps
from typing import Any, Concatenate, ParamSpec

from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.http.request import UnreadablePostError
from django.shortcuts import get_object_or_404
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_safe

from assessments.actions.site.losses import record_loss
from assessments.actions.site.pace import LOSSES, PHOTOGRAPHS, seconds_to_wait
from assessments.actions.site.packs import TokenRefused, pack_of
from assessments.actions.site.photos import receive_bytes
from assessments.models import Pack, PhotoBytes
from assessments.photographs import LARGEST_BYTES
from assessments.queries.site.photos import photos_visible_to
from training.errors import Refused
from training.views.who import person_of

P = ParamSpec("P")
AN_HOUR = 3600
SCHEME = "Pack "
LARGEST_LOSS = 4096
TOO_OFTEN = N_("This device sends too often. It goes on by itself.")
Sent = Callable[Concatenate[Pack, bytes, P], JsonResponse]


def answer(status: int, sentence: str) -> JsonResponse:
    """Return the answer to a device that says in words what is wrong."""
    return JsonResponse({"sentence": sentence}, status=status)


def later(status: int, sentence: str, seconds: int) -> JsonResponse:
    """Return the answer that asks a device to come again after so many seconds."""
    response = answer(status, sentence)
    response["Retry-After"] = str(seconds)
    return response


def sent_by_device(
    method: str, largest: int, kind: str
) -> Callable[[Sent[P]], Callable[..., HttpResponse]]:
    """Return a decorator: the view is given the pack of the token, and at most ``largest`` bytes.

    ``kind`` is what is counted: too much of it in a while is 429, with Retry-After.

    Whatever goes wrong is answered as JSON and never with a redirect; the token alone says who
    sends, so no cookie is looked at and none can be forged.
    """

    def decorate(view: Sent[P]) -> Callable[..., HttpResponse]:
        @login_not_required
        @csrf_exempt
        @never_cache
        @wraps(view)
        def answered(request: HttpRequest, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
            if request.method != method:
                refusal = answer(405, _("Send this with {method}.").format(method=method))
                refusal["Allow"] = method
                return refusal
            try:
                pack = pack_of(_token(request))
                if wait := seconds_to_wait(pack, kind):
                    return later(429, _(TOO_OFTEN), wait)
                data = request.read(largest + 1)
                if len(data) > largest:
                    return answer(
                        413,
                        _("This is too large: at most {largest} bytes are taken.").format(
                            largest=largest
                        ),
                    )
                return view(pack, data, *args, **kwargs)
            except TokenRefused as refused:
                return answer(401, refused.message)
            except UnreadablePostError:
                return answer(400, _("The connection broke off. Send it again."))
            except Refused as refused:
                return answer(422, refused.message)

        return answered

    return decorate


def _token(request: HttpRequest) -> str:
    header = request.headers.get("Authorization", "")
    return header.removeprefix(SCHEME) if header.startswith(SCHEME) else ""


@sent_by_device("PUT", LARGEST_BYTES, PHOTOGRAPHS)
def site_photo(pack: Pack, data: bytes, sha256: str) -> JsonResponse:
    """Keep the bytes of a photograph; the same again is answered the same."""
    kept = receive_bytes(pack, sha256, data)
    return JsonResponse({"sha256": kept.sha256, "size": kept.size})


@sent_by_device("POST", LARGEST_LOSS, LOSSES)
def site_loss(pack: Pack, data: bytes) -> JsonResponse:
    """Keep that the device lost something; told again is answered the same."""
    record_loss(pack, _object(data))
    return JsonResponse({"told": True})


def _object(data: bytes) -> dict[str, Any]:
    try:
        sent = json.loads(data)
    except (ValueError, RecursionError):
        sent = None
    if not isinstance(sent, dict):
        raise Refused(_("Send one JSON object."))
    return sent


@require_safe
def photo(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Send the image to who may see the attempt: who assesses it, and the trainee once decided."""
    found = get_object_or_404(photos_visible_to(person_of(request)), pk=pk)
    kept = PhotoBytes.objects.filter(pk=found.sha256).first()
    if kept is None:
        raise Http404(_("The bytes of this photograph have not been sent from the device yet."))
    with kept.file.open("rb") as file:
        response = HttpResponse(file.read(), content_type="image/jpeg")
    response["X-Content-Type-Options"] = "nosniff"
    response["Cache-Control"] = f"private, max-age={AN_HOUR}"
    response["Content-Disposition"] = f'inline; filename="{found.pk}.jpg"'
    return response
