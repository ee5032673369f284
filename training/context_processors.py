"""What every page needs: the navigation of the person who looks at it."""

from django.http import HttpRequest


def navigation(request: HttpRequest) -> dict[str, object]:
    """Return ``nav``: a list of {label, url, current} for the signed-in person's roles."""
    return {"nav": []}
