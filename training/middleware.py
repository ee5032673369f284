"""Each page in the language, and with the lengths, of whoever reads it."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponseBase
from django.utils import translation

from training.models import Person
from training.reader import lengths_of


class ReaderMiddleware:
    """Take the language that the person chose; without one, LocaleMiddleware has asked the browser.

    Stands after the authentication.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        """Answer as the reader wants it."""
        person = request.user if isinstance(request.user, Person) else None
        if person and person.language:
            translation.activate(person.language)
            request.LANGUAGE_CODE = translation.get_language()
        with lengths_of(person):
            return self.get_response(request)
