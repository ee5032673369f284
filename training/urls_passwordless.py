"""Addresses of signing in without a password."""

from django.urls import path

from training.views import passwordless

urlpatterns = [
    path("sign-in/link/", passwordless.sign_in_link_ask, name="sign_in_link_ask"),
    path("sign-in/link/sent/", passwordless.sign_in_link_sent, name="sign_in_link_sent"),
    path("sign-in/link/<str:token>/", passwordless.sign_in_link, name="sign_in_link"),
    path(
        "sign-in/passkey/options/",
        passwordless.passkey_sign_in_options,
        name="passkey_sign_in_options",
    ),
    path("sign-in/passkey/", passwordless.passkey_sign_in, name="passkey_sign_in"),
    path("account/passkeys/new/", passwordless.passkey_new, name="passkey_new"),
    path("account/passkeys/options/", passwordless.passkey_new_options, name="passkey_new_options"),
    path("account/passkeys/<int:pk>/remove/", passwordless.passkey_remove, name="passkey_remove"),
    path("account/password-link/", passwordless.own_password_link, name="own_password_link"),
]
