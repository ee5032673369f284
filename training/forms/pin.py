"""Choosing a PIN."""

from django import forms
from django.utils.translation import gettext_lazy as _l

from training.actions.pins import LONGEST

_DIGITS = {"inputmode": "numeric", "autocomplete": "off", "maxlength": LONGEST}


class PinForm(forms.Form):
    """The digits, twice; what they must be like is the action's to say."""

    pin = forms.CharField(
        label=_l("New PIN"),
        widget=forms.PasswordInput(attrs=_DIGITS),
        help_text=_l("4 to 8 digits: no run such as 3456, no repetition, no year."),
        error_messages={"required": _l("Write 4 to 8 digits.")},
    )
    again = forms.CharField(
        label=_l("The same digits again"),
        widget=forms.PasswordInput(attrs=_DIGITS),
        error_messages={"required": _l("Write the same digits again.")},
    )
