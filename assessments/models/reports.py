"""The training report on a run: what its author chose, and the files made of it."""

import uuid
from typing import ClassVar

from django.db import models
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _l

from training.digests import FORM
from training.models import CourseRun, Person


class TrainingReport(models.Model):
    """What the author of a run's report chose: parts, their order, texts, photographs, captions.

    ``choices`` holds no figure: those are read from what was observed and decided each time.
    ``version`` counts the saves, so that two people who edit at once notice.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    run = models.OneToOneField(CourseRun, on_delete=models.PROTECT, related_name="report")
    choices = models.JSONField(default=dict)
    version = models.PositiveIntegerField(default=1)
    changed_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    changed_at = models.DateTimeField(default=timezone.now)

    def __str__(self) -> str:
        return f"Report on {self.run}"


class ReportFile(models.Model):
    """One PDF of a report, made in the background. ``done`` of ``parts`` tells the progress."""

    class State(models.TextChoices):
        WAITING = "waiting", _l("Waiting")
        MAKING = "making", _l("Being made")
        READY = "ready", _l("Ready")
        FAILED = "failed", _l("Failed")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    report = models.ForeignKey(TrainingReport, on_delete=models.PROTECT, related_name="files")
    number = models.PositiveIntegerField()
    state = models.CharField(max_length=20, choices=State.choices, default=State.WAITING)
    document = models.JSONField()
    document_digest = models.CharField(max_length=64)
    done = models.PositiveIntegerField(default=0)
    parts = models.PositiveIntegerField(default=0)
    error = models.CharField(max_length=500, blank=True)
    pdf = models.FileField(upload_to="reports/%Y/", max_length=200, blank=True)
    pdf_sha256 = models.CharField(max_length=64, blank=True)
    asked_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    asked_at = models.DateTimeField(default=timezone.now)
    taken_at = models.DateTimeField(null=True, blank=True)
    ready_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["report", "-number"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["report", "number"], name="report_number_once"),
            models.CheckConstraint(
                name="report_state_known",
                condition=Q(state__in=["waiting", "making", "ready", "failed"]),
            ),
            models.CheckConstraint(
                name="report_document_digest_form", condition=Q(document_digest__regex=FORM)
            ),
            models.CheckConstraint(
                name="report_ready_with_file",
                condition=~Q(state="ready") | (~Q(pdf="") & Q(pdf_sha256__regex=FORM)),
            ),
            models.CheckConstraint(
                name="report_failed_with_reason", condition=~Q(state="failed") | ~Q(error="")
            ),
        ]

    def __str__(self) -> str:
        return f"File {self.number} of {self.report}"
