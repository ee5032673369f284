"""The log: what was done, by whom, each row chained to the one before by its digest."""

from typing import ClassVar

from django.db import models
from django.db.models import Q

from training.digests import FORM
from training.models.people import Person

FIRST_PREVIOUS = "0" * 64


class LogEntry(models.Model):
    """One row of the hash chain; ``digest`` covers every other column (see actions/log.py)."""

    seq = models.BigIntegerField(primary_key=True)
    at = models.DateTimeField()
    actor = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, related_name="+")
    verb = models.CharField(max_length=60)
    subject_type = models.CharField(max_length=60)
    subject_id = models.CharField(max_length=60)
    data = models.JSONField(default=dict)
    previous = models.CharField(max_length=64, unique=True)
    digest = models.CharField(max_length=64, unique=True)

    class Meta:
        ordering: ClassVar = ["seq"]
        indexes: ClassVar = [
            models.Index(fields=["subject_type", "subject_id"], name="log_by_subject")
        ]
        constraints: ClassVar = [
            models.CheckConstraint(name="log_seq_from_one", condition=Q(seq__gte=1)),
            models.CheckConstraint(name="log_digest_form", condition=Q(digest__regex=FORM)),
            models.CheckConstraint(name="log_previous_form", condition=Q(previous__regex=FORM)),
        ]

    def __str__(self) -> str:
        return f"{self.seq} {self.verb} {self.subject_type} {self.subject_id}"
