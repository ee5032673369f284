"""What of a project's coverage to look at."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django import forms
from django.utils.translation import gettext_lazy as _l

if TYPE_CHECKING:
    from django_stubs_ext import StrOrPromise


def _day(label: StrOrPromise, text: StrOrPromise, invalid: StrOrPromise) -> forms.DateField:
    return forms.DateField(
        label=label,
        required=False,
        input_formats=["%Y-%m-%d"],
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        help_text=text,
        error_messages={"invalid": invalid},
    )


class CoverageForm(forms.Form):
    """From which day on, whether confirmations go on, and the day to look at closely."""

    AS_IT_STANDS = ""
    CONFIRMING = "confirming"

    at = _day(
        _l("From the day"),
        _l("Empty is today. A day in the past is shown as it was known then."),
        _l("Write a day as 2027-03-01. The page shows today meanwhile."),
    )
    ahead = forms.ChoiceField(
        label=_l("Confirmations"),
        required=False,
        choices=[
            (AS_IT_STANDS, _l("As things stand")),
            (CONFIRMING, _l("Everybody goes on being confirmed")),
        ],
        error_messages={
            "invalid_choice": _l(
                "“%(value)s” is not in this list: choose one that is. "
                "The page shows how things stand meanwhile."
            )
        },
    )
    day = _day(
        _l("A day to look at closely"),
        _l(
            "Who fills which post, and who could fill what is empty. Without it, the first day "
            "short."
        ),
        _l("Write a day as 2027-03-01. The page shows the first day short meanwhile."),
    )
