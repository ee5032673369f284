"""The app of what counts as good work, and whether it was met."""

from django.apps import AppConfig

from training.said import register_said


class AssessmentsConfig(AppConfig):
    """Task, criteria, passing standard, scoring and decision."""

    name = "assessments"
    verbose_name = "Assessments"

    def ready(self) -> None:
        """Let the first page tell what waits to be done about standards and attempts."""
        from assessments.privacy import erasing, parts, retention  # noqa: F401 (as below)
        from assessments.queries import (  # noqa: F401 (importing registers)
            acknowledged,
            plan_follows,
            retake_follows,
            todo,
        )
        from assessments.queries.calibration import todo as calibration  # noqa: F401
        from assessments.queries.evidence import todo as evidence  # noqa: F401 (as above)
        from assessments.queries.panel import waiting  # noqa: F401 (as above)
        from assessments.queries.reviews import follows  # noqa: F401 (as above)
        from assessments.queries.reviews import todo as reviews  # noqa: F401 (as above)
        from assessments.queries.site import todo as site  # noqa: F401 (as above)
        from assessments.wording import aside, engine, files, rules
        from assessments.wording import evidence as figures

        register_said(engine.SAID, engine.VALUES, engine.FORMS)
        desk = (*rules.SAID, *aside.SAID, *files.SAID)
        register_said(desk, {**engine.VALUES, **rules.OWN}, engine.FORMS)
        register_said(figures.SAID, figures.VALUES, figures.FORMS)
