"""Signing an attempt off."""

from typing import Any

from django import forms
from django.contrib.auth import authenticate
from django.http import HttpRequest
from django.urls import reverse
from django.utils.html import format_html
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _l

from assessments.actions.decisions import LONGEST_NOTE
from training.models import Person

_NO_PASSWORD = _l("You have no password yet: set one under My account. Nothing is signed yet.")


class SignOffForm(forms.Form):
    """The signer's password, and a note.

    Wrong passwords count against the same limit as at the sign-in.
    """

    note = forms.CharField(
        required=False,
        max_length=LONGEST_NOTE,
        widget=forms.Textarea(attrs={"rows": 4}),
    )
    password = forms.CharField(
        label=_l("Your password"),
        help_text=_l("It stands for your signature under this result."),
        strip=False,
        max_length=200,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
        error_messages={"required": _l("Write your password to sign.")},
    )

    def __init__(
        self, *args: Any, request: HttpRequest, signer: Person, incomplete: bool, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.request = request
        self.signer = signer
        note = self.fields["note"]
        note.label = _("Why it is closed incomplete") if incomplete else _("Note for the trainee")
        note.help_text = (
            _("The trainee reads this. Needed, because something was not observed.")
            if incomplete
            else _("The trainee reads this.")
        )
        if not signer.has_usable_password():
            # Whoever signs in by a link or a passkey signs a result by a password all the same.
            password = self.fields["password"]
            password.help_text = format_html(
                _(
                    'You have none yet. <a href="{url}">Set one under My account</a>, then sign '
                    "here."
                ),
                url=f"{reverse('account')}#signing-in",
            )
            password.error_messages["required"] = _NO_PASSWORD

    def clean_password(self) -> str:
        """Check the password, as signing in does."""
        password: str = self.cleaned_data["password"]
        if not self.signer.has_usable_password():
            raise forms.ValidationError(_NO_PASSWORD)
        known = authenticate(self.request, username=self.signer.email, password=password)
        if known == self.signer:
            return password
        if getattr(self.request, "axes_locked_out", False):
            raise forms.ValidationError(
                _("Too many wrong passwords from where you are. Wait 15 minutes, then try again.")
            )
        raise forms.ValidationError(_("This is not your password. Nothing is signed yet."))
