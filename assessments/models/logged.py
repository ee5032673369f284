"""A site log entry that is evidence of a criterion, without being entered twice."""

from typing import ClassVar

from django.db import models
from django.db.models import Q
from django.utils import timezone

from assessments.models.attempts import Attempt
from training.models import LogNote, Person


class LoggedEvidence(models.Model):
    """That a note of the site log shows something of a criterion or hold point. Append-only."""

    attempt = models.ForeignKey(Attempt, on_delete=models.PROTECT, related_name="logged_evidence")
    note = models.ForeignKey(LogNote, on_delete=models.PROTECT, related_name="shows")
    subject_kind = models.CharField(max_length=20)
    subject_key = models.CharField(max_length=20)
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering: ClassVar = ["at", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["attempt", "note", "subject_kind", "subject_key"],
                name="logged_evidence_once",
            ),
            models.CheckConstraint(
                name="logged_evidence_subject_known",
                condition=Q(subject_kind__in=["criterion", "hold_point"]),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.note} shows {self.subject_key}"
