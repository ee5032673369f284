"""Addresses of a program's desk: its versions, what changed between two, a copy for a site."""

from django.urls import path

from assessments.views import desk, desk_copy

urlpatterns = [
    path("programs/<uuid:pk>/versions/", desk.program_versions, name="program_versions"),
    path("programs/<uuid:pk>/changes/", desk.program_diff, name="program_diff"),
    path("programs/<uuid:pk>/copy/", desk_copy.program_copy, name="program_copy"),
]
