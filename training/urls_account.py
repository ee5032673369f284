"""Addresses of the own account."""

from django.urls import path

from training.views import account

urlpatterns = [
    path("account/", account.account, name="account"),
    path("language/", account.language, name="language"),
]
