"""The app of what counts as good work, and whether it was met."""

from django.apps import AppConfig


class AssessmentsConfig(AppConfig):
    """Task, criteria, passing standard, scoring and decision."""

    name = "assessments"
    verbose_name = "Assessments"
