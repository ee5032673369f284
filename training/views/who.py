"""The person behind a request."""

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest
from django.utils.translation import gettext as _

from training.models import Person


def person_of(request: HttpRequest) -> Person:
    """Return who is signed in; the middleware has sent everybody else to the sign-in page."""
    if isinstance(request.user, Person):
        return request.user
    raise PermissionDenied(_("Sign in first."))
