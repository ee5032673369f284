"""What happens to a record after its issue: suspended, restored, withdrawn."""

from typing import ClassVar

from django.db import models
from django.db.models import F, Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _l

from certificates.models.records import Record
from training.models import Person

SHORTEST_REASON = 10
LONGEST_REASON = 500
REASONED = rf"^.{{{SHORTEST_REASON},}}$"  # in PostgreSQL a dot is a line break too


class WithdrawalProposal(models.Model):
    """A lead's proposal to withdraw a record; nothing comes of it without another's answer."""

    record = models.ForeignKey(Record, on_delete=models.PROTECT, related_name="proposals")
    reason = models.CharField(max_length=LONGEST_REASON)
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering: ClassVar = ["at", "id"]
        constraints: ClassVar = [
            models.CheckConstraint(
                name="proposal_reason_given", condition=Q(reason__regex=REASONED)
            ),
        ]

    def __str__(self) -> str:
        return f"Withdraw {self.record.number}?"


class WithdrawalAnswer(models.Model):
    """The second person's answer to a proposal, once."""

    proposal = models.OneToOneField(
        WithdrawalProposal, on_delete=models.PROTECT, related_name="answer"
    )
    confirmed = models.BooleanField()
    note = models.CharField(max_length=LONGEST_REASON, blank=True)
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(
                name="answer_declined_with_note",
                condition=Q(confirmed=True) | Q(note__regex=REASONED),
            ),
        ]

    def __str__(self) -> str:
        return "confirmed" if self.confirmed else "declined"


class StatusChange(models.Model):
    """One change of a record's status; ``number`` counts from 1 within the record.

    ``at`` is when it took effect. A withdrawal names who proposed it (``by``) and who
    confirmed it (``second``). ``proposal`` is also named by the suspension that came with
    a proposal, and by the restoration that came with its refusal.
    """

    class Change(models.TextChoices):
        SUSPENDED = "suspended", _l("Suspended")
        RESTORED = "restored", _l("Restored")
        WITHDRAWN = "withdrawn", _l("Withdrawn")

    record = models.ForeignKey(Record, on_delete=models.PROTECT, related_name="status_changes")
    number = models.PositiveIntegerField()
    change = models.CharField(max_length=10, choices=Change.choices)
    reason = models.CharField(max_length=LONGEST_REASON)
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    second = models.ForeignKey(
        Person, on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    proposal = models.ForeignKey(
        WithdrawalProposal,
        on_delete=models.PROTECT,
        related_name="changes",
        null=True,
        blank=True,
    )
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering: ClassVar = ["record", "number"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["record", "number"], name="status_number_once"),
            models.CheckConstraint(name="status_number_from_one", condition=Q(number__gte=1)),
            models.CheckConstraint(
                name="status_change_known",
                condition=Q(change__in=["suspended", "restored", "withdrawn"]),
            ),
            models.CheckConstraint(name="status_reason_given", condition=Q(reason__regex=REASONED)),
            models.CheckConstraint(
                name="status_withdrawn_by_two",
                condition=Q(change="withdrawn", second__isnull=False, proposal__isnull=False)
                | Q(~Q(change="withdrawn"), second__isnull=True),
            ),
            models.CheckConstraint(
                name="status_second_is_another",
                condition=Q(second__isnull=True) | ~Q(second=F("by")),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.number}: {self.change}"
