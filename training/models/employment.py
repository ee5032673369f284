"""A contractor's offer to take somebody on; the person's own answer lets the records be seen."""

from typing import ClassVar

from django.db import models
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _l

from training.models.people import Organisation, Person


class EmploymentOffer(models.Model):
    """What a contractor asks of a person: be on our crew from that day, and show us your records.

    Only the person's own acceptance makes an employment of it. At most one offer of a
    contractor to a person waits for an answer.
    """

    class State(models.TextChoices):
        WAITING = "waiting", _l("Waiting for an answer")
        ACCEPTED = "accepted", _l("Accepted")
        DECLINED = "declined", _l("Declined")
        TAKEN_BACK = "taken_back", _l("Taken back")

    organisation = models.ForeignKey(Organisation, on_delete=models.PROTECT, related_name="offers")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="offers")
    since = models.DateField()
    state = models.CharField(max_length=20, choices=State.choices, default=State.WAITING)
    offered_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    offered_at = models.DateTimeField(default=timezone.now)
    answered_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["-offered_at"]
        constraints: ClassVar = [
            models.CheckConstraint(
                name="offer_state_known",
                condition=Q(state__in=["waiting", "accepted", "declined", "taken_back"]),
            ),
            models.CheckConstraint(
                name="offer_answered_with_time",
                condition=Q(state="waiting", answered_at__isnull=True)
                | (~Q(state="waiting") & Q(answered_at__isnull=False)),
            ),
            models.UniqueConstraint(
                fields=["organisation", "person"],
                condition=Q(state="waiting"),
                name="offer_waiting_once",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.organisation} to {self.person}: {self.get_state_display()}"
