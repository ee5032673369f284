"""Addresses of acknowledging a result."""

from django.urls import path

from assessments.views import acknowledge

urlpatterns = [
    path(
        "attempts/<uuid:pk>/acknowledge/",
        acknowledge.attempt_acknowledge,
        name="attempt_acknowledge",
    ),
]
