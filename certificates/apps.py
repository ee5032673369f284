"""The app of what is issued, and how others check it."""

from django.apps import AppConfig

from training.said import register_said


class CertificatesConfig(AppConfig):
    """Signed records and their checking."""

    name = "certificates"
    verbose_name = "Certificates"

    def ready(self) -> None:
        """Let the first page tell what waits to be done about records."""
        from certificates.actions import follow_review  # noqa: F401 (importing it registers it)
        from certificates.privacy import erasing, parts, retention  # noqa: F401 (as below)
        from certificates.queries import (
            evidence_file,  # noqa: F401 (as above)
            report_part,  # noqa: F401 (as above)
            todo,  # noqa: F401 (importing it registers its sources)
        )
        from certificates.record_wording import OF_RECORDS
        from certificates.wording import SAID, VALUES

        register_said(SAID, VALUES)
        register_said(OF_RECORDS)
