"""The app of what is issued, and how others check it."""

from django.apps import AppConfig


class CertificatesConfig(AppConfig):
    """Signed records and their checking."""

    name = "certificates"
    verbose_name = "Certificates"
