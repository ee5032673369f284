"""What the answers of every public check have in common."""

from collections.abc import Callable
from functools import wraps
from typing import Any, Concatenate, ParamSpec

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.utils.translation import override

from certificates.actions.guesses import WINDOW

SCHEMA = "bankermark/check/1"
P = ParamSpec("P")


def in_english(
    view: Callable[Concatenate[HttpRequest, P], HttpResponse],
) -> Callable[Concatenate[HttpRequest, P], HttpResponse]:
    """Answer a program in English, whatever language its request asks for."""

    @wraps(view)
    def answered(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
        with override("en"):
            return view(request, *args, **kwargs)

    return answered


def as_answer(content: dict[str, Any], status: int) -> HttpResponse:
    """Answer a program."""
    response = JsonResponse(
        {"schema": SCHEMA, **content},
        status=status,
        json_dumps_params={"ensure_ascii": False, "indent": 2},
    )
    return unlisted(response)


def later(response: HttpResponse) -> HttpResponse:
    """Say when to try again after too many tries."""
    response.status_code = 429
    response["Retry-After"] = str(int(WINDOW.total_seconds()))
    return unlisted(response)


def unlisted(response: HttpResponse) -> HttpResponse:
    """Keep the page of one record out of search engines."""
    response["X-Robots-Tag"] = "noindex, nofollow, noarchive"
    return response
