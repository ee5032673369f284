"""Signing in, and setting a password."""

from typing import Any

from django import forms
from django.contrib.auth.forms import AuthenticationForm, PasswordChangeForm, SetPasswordForm
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _l

from training.actions.passwords import set_password
from training.models import Person


class SignInForm(AuthenticationForm):
    """E-mail address and password; the same answer whether or not the address is known."""

    error_messages = {
        "invalid_login": (
            _l(
                "This e-mail address and password do not go together. Check both; capitals matter "
                "in the password only."
            )
        ),
        "inactive": _l("This account is closed. Ask your training lead."),
        "locked_out": (
            _l(
                "Too many wrong passwords for this address from where you are. Wait 15 minutes, "
                "then try again; a training lead can make a link for a new password."
            )
        ),
    }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["username"] = forms.EmailField(
            label=_("E-mail address"),
            max_length=254,
            widget=forms.EmailInput(attrs={"autocomplete": "username", "autofocus": True}),
            error_messages={
                "required": _("Write the e-mail address of your account."),
                "invalid": _("Write an e-mail address such as name@example.org."),
            },
        )
        self.fields["password"].error_messages["required"] = _("Write your password.")
        self.order_fields(["username", "password"])

    def clean_username(self) -> str:
        """Return the address as it is kept, so that guesses are counted together."""
        return str(self.cleaned_data["username"]).lower()

    def get_invalid_login_error(self) -> forms.ValidationError:
        """Say that it is wrong, or that there were too many guesses."""
        if getattr(self.request, "axes_locked_out", False):
            return forms.ValidationError(self.error_messages["locked_out"], code="locked_out")
        return forms.ValidationError(self.error_messages["invalid_login"], code="invalid_login")


class _Logged:
    user: Person
    cleaned_data: dict[str, Any]

    def save(self, commit: bool = True) -> Person:
        """Save the password, with its row in the log."""
        set_password(person=self.user, password=self.cleaned_data["new_password1"])
        return self.user


class NewPasswordForm(_Logged, SetPasswordForm):  # type: ignore[type-arg]
    """Sets a password by a link."""


class ChangePasswordForm(_Logged, PasswordChangeForm):
    """Changes the own password."""
