"""The app of who is taught, and what."""

from django.apps import AppConfig


class TrainingConfig(AppConfig):
    """People, organisations, programs, course runs and the log."""

    name = "training"
    verbose_name = "Training"

    def ready(self) -> None:
        """Let the first page tell what waits to be done."""
        from training import sessions  # noqa: F401 (it listens to sign-ins)
        from training.privacy import own_erasing, own_parts, own_retention  # noqa: F401 (as below)
        from training.queries import (  # noqa: F401 (importing them registers their sources)
            fit_run,
            presence_todo,
            sitelog_todo,
        )
