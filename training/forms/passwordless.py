"""Signing in without a password."""

from django import forms
from django.utils.translation import gettext_lazy as _l

from training.actions.passkeys import LONGEST_NAME


class LinkForm(forms.Form):
    """Where to send a link; the field is called as on the page with the password."""

    username = forms.EmailField(
        label=_l("E-mail address"),
        max_length=254,
        widget=forms.EmailInput(attrs={"autocomplete": "username"}),
        error_messages={
            "required": _l("Write the e-mail address of your account."),
            "invalid": _l("Write an e-mail address such as name@example.org."),
        },
    )


class PasskeyForm(forms.Form):
    """What a new passkey is called; the device's answer is put in by the page's script."""

    name = forms.CharField(
        label=_l("Name"),
        max_length=LONGEST_NAME,
        help_text=_l("By which you will know it, such as My phone."),
        error_messages={"required": _l("Write a name by which you will know it.")},
    )
    answer = forms.CharField(required=False, widget=forms.HiddenInput())
