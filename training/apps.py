"""The app of who is taught, and what."""

from django.apps import AppConfig


class TrainingConfig(AppConfig):
    """People, organisations, programs, course runs and the log."""

    name = "training"
    verbose_name = "Training"
