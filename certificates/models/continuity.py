"""Proof that a holder has kept doing the work: signed by the employer, never changed."""

from typing import ClassVar

from django.db import models
from django.db.models import Q
from django.utils import timezone

from assessments.models import Attempt
from certificates.models.projects import Project
from certificates.models.records import Record
from certificates.models.status import REASONED
from training.models import Organisation, Person


class Confirmation(models.Model):
    """An employer's statement that the holder did work within the range on ``worked_on``.

    It belongs to the attempt, so that it outlives a correction of the record; ``record`` is
    the one that stood when it was signed. ``signed_on`` is the day at the record's site.
    ``project`` is one that is known here, ``project_name`` what the signer calls the work.
    """

    attempt = models.ForeignKey(Attempt, on_delete=models.PROTECT, related_name="confirmations")
    record = models.ForeignKey(Record, on_delete=models.PROTECT, related_name="confirmations")
    organisation = models.ForeignKey(
        Organisation, on_delete=models.PROTECT, related_name="confirmations"
    )
    project = models.ForeignKey(
        Project, on_delete=models.PROTECT, related_name="confirmations", null=True, blank=True
    )
    project_name = models.CharField(max_length=200)
    work = models.CharField(max_length=500, blank=True)
    worked_on = models.DateField()
    signed_on = models.DateField()
    signed_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    signed_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering: ClassVar = ["worked_on", "id"]
        constraints: ClassVar = [
            models.CheckConstraint(
                name="confirmation_work_done", condition=Q(worked_on__lte=models.F("signed_on"))
            ),
            models.CheckConstraint(
                name="confirmation_project_named", condition=~Q(project_name="")
            ),
        ]

    def __str__(self) -> str:
        return f"{self.record.number}: worked on {self.worked_on}"


class Retraction(models.Model):
    """An employer takes a confirmation back, with the reason; from then on it never counted."""

    confirmation = models.OneToOneField(
        Confirmation, on_delete=models.PROTECT, related_name="retraction"
    )
    reason = models.CharField(max_length=500)
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(
                name="retraction_reason_given", condition=Q(reason__regex=REASONED)
            ),
        ]

    def __str__(self) -> str:
        return f"{self.confirmation} taken back"
