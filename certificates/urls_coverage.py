"""Addresses of a project's coverage."""

from django.urls import path

from certificates.views import coverage

urlpatterns = [
    path("projects/<uuid:pk>/coverage/", coverage.project_coverage, name="project_coverage"),
    path(
        "projects/<uuid:pk>/coverage.csv",
        coverage.project_coverage_csv,
        name="project_coverage_csv",
    ),
]
