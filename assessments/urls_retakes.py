"""Addresses of making an attempt again."""

from django.urls import path

from assessments.views import retakes

urlpatterns = [
    path("attempts/<uuid:pk>/retake/", retakes.attempt_retake, name="attempt_retake"),
    path("attempts/<uuid:pk>/retake/day/", retakes.retake_day, name="retake_day"),
    path(
        "attempts/<uuid:pk>/retake/day/give-up/",
        retakes.retake_day_give_up,
        name="retake_day_give_up",
    ),
]
