"""What a form was sent with."""

from django.http import HttpRequest, QueryDict


def sent(request: HttpRequest) -> QueryDict | None:
    """Return the values sent, even if there are none; None when the page is only opened."""
    return request.POST if request.method == "POST" else None
