"""The record in its open form, and its place in the published status lists."""

from typing import ClassVar

from django.db import models
from django.db.models import Q
from django.utils import timezone

from certificates.credentials.status_list import ENTRIES
from certificates.models.records import Record
from training.models import Organisation


class Credential(models.Model):
    """The signed credential of a record, made once, and where its status stands.

    ``list_number`` counts the issuer's status lists from 1; ``index`` is drawn at random, so
    that it tells neither the order nor the number of the credentials.
    """

    record = models.OneToOneField(Record, on_delete=models.PROTECT, related_name="credential")
    provider = models.ForeignKey(Organisation, on_delete=models.PROTECT, related_name="credentials")
    list_number = models.PositiveIntegerField()
    index = models.PositiveIntegerField()
    document = models.JSONField()
    made_at = models.DateTimeField(default=timezone.now)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["provider", "list_number", "index"], name="credential_place_once"
            ),
            models.CheckConstraint(
                name="credential_list_from_one", condition=Q(list_number__gte=1)
            ),
            models.CheckConstraint(
                name="credential_index_in_list", condition=Q(index__gte=0, index__lt=ENTRIES)
            ),
        ]

    def __str__(self) -> str:
        return f"Credential of {self.record_id}"
