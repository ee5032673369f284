"""Signing in, and passwords."""

from typing import Any

from django.conf import settings
from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.views import (
    LoginView,
    PasswordChangeView,
    PasswordResetConfirmView,
)
from django.http import HttpRequest, HttpResponse
from django.urls import reverse_lazy
from django.utils.decorators import method_decorator
from django.utils.translation import gettext as _

from training.forms.sign import ChangePasswordForm, NewPasswordForm, SignInForm
from training.passkeys import passkeys_possible


class SignIn(LoginView):
    """E-mail address and password."""

    template_name = "training/sign_in.html"
    authentication_form = SignInForm

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        """Say whether the page offers a passkey as well."""
        return super().get_context_data(passkeys_possible=passkeys_possible(), **kwargs)


def locked_out(
    request: HttpRequest, response: HttpResponse, credentials: dict[str, Any] | None = None
) -> HttpResponse:
    """Return the page as the form made it, which says how long to wait, as 429."""
    response.status_code = 429
    response["Retry-After"] = str(int(settings.AXES_COOLOFF_TIME.total_seconds()))
    return response


@method_decorator(login_not_required, name="dispatch")
class SetPassword(PasswordResetConfirmView):
    """Set a password by a link that a training lead made."""

    template_name = "training/set_password.html"
    form_class = NewPasswordForm
    success_url = reverse_lazy("sign_in")

    def form_valid(self, form: Any) -> HttpResponse:
        """Say what comes next."""
        messages.success(self.request, _("Your password is set. Sign in with it."))
        return super().form_valid(form)


class ChangePassword(PasswordChangeView):
    """Change the own password."""

    template_name = "training/change_password.html"
    form_class = ChangePasswordForm
    success_url = reverse_lazy("home")

    def form_valid(self, form: Any) -> HttpResponse:
        """Say that it is done."""
        messages.success(self.request, _("Your password is changed."))
        return super().form_valid(form)
