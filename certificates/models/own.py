"""What holders do with the own records: links of their own, and who has looked."""

import uuid
from datetime import date, timedelta
from typing import ClassVar

from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from certificates.models.records import Record
from training.digests import FORM
from training.models import Person


class OwnLink(models.Model):
    """A holder's way to show the own records without an account; the secret is kept as a digest.

    Only ``revoked_at`` is set later, once.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    holder = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="own_links")
    records = models.ManyToManyField(Record, related_name="own_links")
    token_sha256 = models.CharField(max_length=64, unique=True)
    recipient = models.CharField(max_length=200)
    created_at = models.DateTimeField(default=timezone.now)
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["-created_at"]
        constraints: ClassVar = [
            models.CheckConstraint(
                name="own_link_token_form", condition=Q(token_sha256__regex=FORM)
            ),
            models.CheckConstraint(name="own_link_recipient_given", condition=~Q(recipient="")),
            models.CheckConstraint(
                name="own_link_expires_later", condition=Q(expires_at__gt=F("created_at"))
            ),
        ]

    def __str__(self) -> str:
        return f"Link of {self.holder} for {self.recipient}"

    @property
    def last_day(self) -> date:
        """The last day on which it opens, in the server's zone."""
        return timezone.localdate(self.expires_at - timedelta(microseconds=1))


class RecordLook(models.Model):
    """That somebody looked at a record on a day; append-only, once a way, person, network and day.

    ``network`` is the address cut to /24 or /48, as with a project's links.
    """

    class Way(models.TextChoices):
        ACCOUNT = "account", "Signed in"
        LINK = "link", "Through a link of the holder's own"
        PROJECT = "project", "Through a project's link"
        CHECK = "check", "By the record's number"

    record = models.ForeignKey(Record, on_delete=models.PROTECT, related_name="looks")
    way = models.CharField(max_length=10, choices=Way.choices)
    person = models.ForeignKey(
        Person, on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    link = models.ForeignKey(
        OwnLink, on_delete=models.PROTECT, related_name="looks", null=True, blank=True
    )
    recipient = models.CharField(max_length=200, blank=True)
    network = models.CharField(max_length=60, blank=True)
    day = models.DateField()
    first_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering: ClassVar = ["-first_at", "-id"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["record", "way", "person", "link", "recipient", "network", "day"],
                name="look_once_a_day",
                nulls_distinct=False,
            ),
            models.CheckConstraint(
                name="look_way_known",
                condition=Q(way__in=["account", "link", "project", "check"]),
            ),
            models.CheckConstraint(
                name="look_way_whole",
                condition=Q(way="account", person__isnull=False, link__isnull=True)
                | Q(way="link", person__isnull=True, link__isnull=False)
                | Q(way__in=["project", "check"], person__isnull=True, link__isnull=True),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.record.number} on {self.day}"
