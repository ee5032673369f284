"""From what an action refuses to what a person reads."""

from collections.abc import Callable
from typing import ParamSpec, TypeVar

from django import forms
from django.contrib import messages
from django.http import HttpRequest

from training.errors import Refused

P = ParamSpec("P")
T = TypeVar("T")


def act(
    form: forms.BaseForm, action: Callable[P, T], /, *args: P.args, **kwargs: P.kwargs
) -> T | None:
    """Return what ``action`` returns; what it refuses is put at the field of ``form``.

    Returns None when it was refused; ``form.errors`` then says why.
    """
    try:
        return action(*args, **kwargs)
    except Refused as refused:
        show(form, refused)
        return None


def show(form: forms.BaseForm, refused: Refused) -> None:
    """Put the refusal at its field, or on top when the form has no such field."""
    form.add_error(refused.field if refused.field in form.fields else None, refused.message)


def act_or_say(
    request: HttpRequest, action: Callable[P, T], /, *args: P.args, **kwargs: P.kwargs
) -> T | None:
    """Return what ``action`` returns; what it refuses is said on the next page (buttons)."""
    try:
        return action(*args, **kwargs)
    except Refused as refused:
        messages.error(request, refused.message)
        return None
