"""The evidence report on a standard: worked out, kept, and never changed."""

import uuid
from typing import ClassVar

from django.db import models
from django.db.models import Q
from django.utils import timezone

from assessments.models.standard import SealedStandard
from training.digests import FORM
from training.models import Person


class EvidenceReport(models.Model):
    """What the scores under a standard said on a day; append-only.

    ``input_digest`` is the digest of the scores that went in, so that the same scores give the
    same report and new ones are noticed; ``document`` holds the sections as plain data.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    standard = models.ForeignKey(
        SealedStandard, on_delete=models.PROTECT, related_name="evidence_reports"
    )
    input_digest = models.CharField(max_length=64)
    document = models.JSONField()
    digest = models.CharField(max_length=64)
    made_at = models.DateTimeField(default=timezone.now)
    made_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["-made_at", "id"]
        constraints: ClassVar = [
            models.CheckConstraint(
                name="evidence_input_digest_form", condition=Q(input_digest__regex=FORM)
            ),
            models.CheckConstraint(name="evidence_digest_form", condition=Q(digest__regex=FORM)),
        ]

    def __str__(self) -> str:
        return f"Evidence on {self.standard}, {self.made_at:%d %b %Y}"
