"""All addresses: each app names its own."""

from django.urls import include, path

urlpatterns = [
    path("", include("training.urls")),
    path("", include("assessments.urls")),
    path("", include("certificates.urls")),
]
