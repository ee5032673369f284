"""Calendar feeds of what lapses, and the reminders that were sent about it."""

import uuid
from typing import ClassVar

from django.db import models
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _l

from certificates.models.records import Record
from training.digests import FORM
from training.models import Organisation, Person


class CalendarFeed(models.Model):
    """An address at which a calendar program reads a crew's lapses; the secret is a digest."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    organisation = models.ForeignKey(Organisation, on_delete=models.PROTECT, related_name="feeds")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="feeds")
    token_sha256 = models.CharField(max_length=64, unique=True)
    created_at = models.DateTimeField(default=timezone.now)
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["-created_at"]
        constraints: ClassVar = [
            models.CheckConstraint(name="feed_token_form", condition=Q(token_sha256__regex=FORM)),
            models.UniqueConstraint(
                fields=["organisation", "person"],
                condition=Q(revoked_at__isnull=True),
                name="feed_current_once",
            ),
        ]

    def __str__(self) -> str:
        return f"Feed of {self.organisation} for {self.person}"


class Reminder(models.Model):
    """That a person was told ahead of a day on which a record lapses or wants confirming."""

    class Kind(models.TextChoices):
        LAPSE = "lapse", _l("Last day of validity")
        CONFIRMATION = "confirmation", _l("Confirmation due")

    record = models.ForeignKey(Record, on_delete=models.PROTECT, related_name="reminders")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="reminders")
    kind = models.CharField(max_length=20, choices=Kind.choices)
    due_on = models.DateField()
    days_ahead = models.PositiveIntegerField()
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering: ClassVar = ["-at"]
        constraints: ClassVar = [
            models.CheckConstraint(
                name="reminder_kind_known", condition=Q(kind__in=["lapse", "confirmation"])
            ),
            models.UniqueConstraint(
                fields=["record", "person", "kind", "due_on", "days_ahead"], name="reminder_once"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.record.number} {self.kind} on {self.due_on}"
