"""What the answers of every public check have in common."""

from typing import Any

from django.http import HttpResponse, JsonResponse

from certificates.actions.guesses import WINDOW

SCHEMA = "bankermark/check/1"


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
