"""How the person who reads wants texts, numbers and lengths: set for a request, or for a letter."""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import TYPE_CHECKING

from django.conf import settings
from django.utils import translation

if TYPE_CHECKING:  # documents are written in a process without models, too
    from training.models import Person

_lengths: ContextVar[str] = ContextVar("lengths", default="")


def lengths_wanted() -> str:
    """Return ``in``, ``mm``, or nothing where lengths are shown as they were taken."""
    return _lengths.get()


@contextmanager
def reading_as(person: "Person") -> Iterator[None]:
    """Speak to ``person``: the language and the lengths chosen, else the site's language.

    For what is written outside that person's own request, such as an e-mail.
    """
    wanted = _lengths.set(person.lengths)
    try:
        with translation.override(person.language or settings.LANGUAGE_CODE):
            yield
    finally:
        _lengths.reset(wanted)


@contextmanager
def lengths_of(person: "Person | None") -> Iterator[None]:
    """Show lengths as ``person`` chose; nobody signed in sees them as they were taken."""
    wanted = _lengths.set(person.lengths if person else "")
    try:
        yield
    finally:
        _lengths.reset(wanted)
