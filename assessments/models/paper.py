"""Score sheets that were filled in on paper and keyed in afterwards."""

import uuid
from typing import ClassVar

from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from assessments.models.attempts import Attempt, Observation
from training.digests import FORM
from training.models import Person


class PaperSheet(models.Model):
    """The photograph or scan of a sheet that ``keyed_by`` keyed in for ``assessor``; append-only.

    ``scored_at`` is when it was scored on site, as the person who keyed it in says.
    """

    class Kind(models.TextChoices):
        JPEG = "image/jpeg", "JPEG"
        PNG = "image/png", "PNG"
        PDF = "application/pdf", "PDF"

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    attempt = models.ForeignKey(Attempt, on_delete=models.PROTECT, related_name="paper_sheets")
    assessor = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    keyed_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    scored_at = models.DateTimeField()
    file = models.FileField(upload_to="paper-sheets/%Y/")
    kind = models.CharField(max_length=20, choices=Kind.choices)
    sha256 = models.CharField(max_length=64)
    size = models.PositiveIntegerField()
    keyed_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering: ClassVar = ["keyed_at", "id"]
        constraints: ClassVar = [
            models.CheckConstraint(
                name="paper_sheet_scored_before_keyed",
                condition=Q(scored_at__lte=F("keyed_at")),
            ),
            models.CheckConstraint(name="paper_sheet_digest_form", condition=Q(sha256__regex=FORM)),
            models.CheckConstraint(
                name="paper_sheet_kind_known",
                condition=Q(kind__in=["image/jpeg", "image/png", "application/pdf"]),
            ),
        ]

    def __str__(self) -> str:
        return f"Paper sheet of {self.assessor}"


class PaperObservation(models.Model):
    """That an observation was read off a paper sheet; append-only."""

    sheet = models.ForeignKey(PaperSheet, on_delete=models.PROTECT, related_name="readings")
    observation = models.OneToOneField(
        Observation, on_delete=models.PROTECT, related_name="on_paper"
    )

    class Meta:
        ordering: ClassVar = ["id"]

    def __str__(self) -> str:
        return f"{self.observation} on paper"
