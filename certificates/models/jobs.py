"""Records to be issued in the background: who asked, and how far each one is."""

from typing import ClassVar

from django.db import models
from django.db.models import F, Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _l

from assessments.models import Decision
from certificates.models.records import Record
from training.models import CourseRun, Person


class IssueJob(models.Model):
    """The wish of one person to have the records of a run issued."""

    run = models.ForeignKey(CourseRun, on_delete=models.PROTECT, related_name="issue_jobs")
    asked_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    asked_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering: ClassVar = ["-asked_at"]

    def __str__(self) -> str:
        return f"Records of {self.run}, asked for by {self.asked_by}"


class IssueItem(models.Model):
    """One record to be issued. A decision is in at most one item that is not finished.

    ``task`` names the row in the queue that was made last for this item; ``tries`` counts how
    often a worker began. ``sentence`` says why nothing was issued.
    """

    class State(models.TextChoices):
        WAITING = "waiting", _l("Waiting")
        WORKING = "working", _l("Being made")
        ISSUED = "issued", _l("Issued")
        REFUSED = "refused", _l("Not issued")

    UNFINISHED = (State.WAITING, State.WORKING)

    job = models.ForeignKey(IssueJob, on_delete=models.PROTECT, related_name="items")
    decision = models.ForeignKey(Decision, on_delete=models.PROTECT, related_name="issue_items")
    state = models.CharField(max_length=20, choices=State.choices, default=State.WAITING)
    task = models.UUIDField(null=True)
    tries = models.PositiveIntegerField(default=0)
    record = models.ForeignKey(
        Record, on_delete=models.PROTECT, related_name="issue_items", null=True
    )
    sentence = models.TextField(blank=True)
    changed_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering: ClassVar = ["pk"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["job", "decision"], name="issue_item_once_a_job"),
            models.UniqueConstraint(
                fields=["decision"],
                condition=Q(state__in=["waiting", "working"]),
                name="issue_item_unfinished_once",
            ),
            models.CheckConstraint(
                name="issue_item_state_known",
                condition=Q(state__in=["waiting", "working", "issued", "refused"]),
            ),
            models.CheckConstraint(
                name="issue_item_issued_has_record",
                condition=Q(state="issued", record__isnull=False)
                | (~Q(state="issued") & Q(record__isnull=True)),
            ),
            models.CheckConstraint(
                name="issue_item_refused_has_sentence",
                condition=(Q(state="refused") & ~Q(sentence=""))
                | (~Q(state="refused") & Q(sentence="")),
            ),
        ]
        indexes: ClassVar = [
            models.Index(
                F("changed_at"),
                name="issue_item_unfinished",
                condition=Q(state__in=["waiting", "working"]),
            )
        ]

    def __str__(self) -> str:
        return f"{self.get_state_display()}: {self.decision_id}"
