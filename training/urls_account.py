"""Addresses of the own account."""

from django.urls import path

from training.views import account, pin

urlpatterns = [
    path("account/", account.account, name="account"),
    path("account/pin/", pin.account_pin, name="account_pin"),
    path("account/pin/remove/", pin.account_pin_remove, name="account_pin_remove"),
    path("language/", account.language, name="language"),
]
