"""Addresses of what is kept, what a person agreed to, export and erasure."""

from django.urls import path

from training.views import consents, erasure, privacy

urlpatterns = [
    path("what-is-kept/", privacy.retention, name="retention"),
    path("my-data/", privacy.my_data, name="my_data"),
    path("my-data/consents/", consents.consent_say, name="consent_say"),
    path("people/<int:pk>/data/", privacy.person_data, name="person_data"),
    path("people/<int:pk>/erase/", erasure.person_erase, name="person_erase"),
    path("runs/<uuid:pk>/consents/", consents.run_consents, name="run_consents"),
    path("enrolments/<uuid:pk>/consents/", consents.consent_note, name="consent_note"),
]
