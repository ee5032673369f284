"""Addresses of the confirmations that keep records."""

from django.urls import path

from certificates.views import confirm_many, continuity

urlpatterns = [
    path("records/<str:number>/confirm/", continuity.confirm_work_page, name="confirm_work"),
    path(
        "confirmations/<int:pk>/take-back/",
        continuity.confirmation_retract,
        name="confirmation_retract",
    ),
    path("crew/confirmations/", confirm_many.confirm_many_page, name="confirm_many"),
    path("my-confirmations/", continuity.my_confirmations, name="my_confirmations"),
]
