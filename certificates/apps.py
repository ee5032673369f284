"""The app of what is issued, and how others check it."""

from django.apps import AppConfig


class CertificatesConfig(AppConfig):
    """Signed records and their checking."""

    name = "certificates"
    verbose_name = "Certificates"

    def ready(self) -> None:
        """Let the first page tell what waits to be done about records."""
        from certificates.queries import todo  # noqa: F401 (importing it registers its sources)
