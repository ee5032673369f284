"""Wrong record numbers and files sent for checking, counted so that nobody floods the checks."""

from typing import ClassVar

from django.db import models
from django.utils import timezone


class WrongNumber(models.Model):
    """A look for a record that does not exist; deleted after a day.

    ``source`` is a keyed digest of the network address, never the address itself.
    """

    source = models.CharField(max_length=64)
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        indexes: ClassVar = [
            models.Index(fields=["source", "at"], name="wrong_number_by_source"),
            models.Index(fields=["at"], name="wrong_number_by_time"),
        ]
        constraints: ClassVar = [
            models.CheckConstraint(
                name="wrong_number_source_form",
                condition=models.Q(source__regex=r"^[0-9a-f]{64}$"),
            )
        ]

    def __str__(self) -> str:
        return f"{self.source[:8]} at {self.at}"


class SentFile(models.Model):
    """A file that somebody sent to be checked: that one came, nothing of it; deleted after a day.

    ``source`` is a keyed digest of the network address, never the address itself.
    """

    source = models.CharField(max_length=64)
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        indexes: ClassVar = [
            models.Index(fields=["source", "at"], name="sent_file_by_source"),
            models.Index(fields=["at"], name="sent_file_by_time"),
        ]
        constraints: ClassVar = [
            models.CheckConstraint(
                name="sent_file_source_form",
                condition=models.Q(source__regex=r"^[0-9a-f]{64}$"),
            )
        ]

    def __str__(self) -> str:
        return f"{self.source[:8]} at {self.at}"
