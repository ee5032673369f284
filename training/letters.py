"""E-mails: each in its reader's language, to one person, once what it tells is saved."""

from collections.abc import Callable, Mapping
from functools import partial

from django.conf import settings
from django.core.mail import send_mail
from django.db import transaction
from django.template.loader import render_to_string
from django.urls import reverse

from training.models import Person
from training.reader import reading_as


def send_letter(
    to: Person, *, subject: Callable[[], str], template: str, context: Mapping[str, object]
) -> None:
    """Write a plain e-mail in the language of ``to`` and send it once the transaction is saved.

    ``subject`` is asked in that language; ``context`` gets ``reader``. Nobody is written to whose
    account is closed. A mail server that fails harms nothing that was saved.
    """
    if not to.is_active:
        return
    with reading_as(to):
        # A name with a line break in it would not do as a subject.
        line = " ".join(subject().split())
        text = render_to_string(template, {**context, "reader": to})
    transaction.on_commit(partial(send_mail, line, text, None, [to.email]), robust=True)


def address(name: str, **parts: object) -> str:
    """Return the whole address of a page, for an e-mail."""
    return f"{settings.BASE_URL}{reverse(name, kwargs=parts)}"
