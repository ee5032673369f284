"""A signing key that somebody else may have had, and the records this makes doubtful."""

from typing import ClassVar

from django.db import models
from django.db.models import Q
from django.utils import timezone

from certificates.models.records import Record
from certificates.models.status import LONGEST_REASON, REASONED
from training.digests import FORM
from training.models import Organisation, Person


class KeyCompromise(models.Model):
    """From ``doubtful_from`` on, the key of this certificate may have signed for others.

    From ``at`` on, the database takes no record signed with it. A later declaration for the
    same certificate may name an earlier moment.
    """

    provider = models.ForeignKey(
        Organisation, on_delete=models.PROTECT, related_name="key_compromises"
    )
    certificate_sha256 = models.CharField(max_length=64)
    doubtful_from = models.DateTimeField()
    reason = models.CharField(max_length=LONGEST_REASON)
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering: ClassVar = ["-at", "-id"]
        constraints: ClassVar = [
            models.CheckConstraint(
                name="compromise_certificate_digest_form",
                condition=Q(certificate_sha256__regex=FORM),
            ),
            models.CheckConstraint(
                name="compromise_reason_given", condition=Q(reason__regex=REASONED)
            ),
            models.CheckConstraint(
                name="compromise_not_in_the_future",
                condition=Q(doubtful_from__lte=models.F("at")),
            ),
        ]

    def __str__(self) -> str:
        return f"Key {self.certificate_sha256[:12]} from {self.doubtful_from}"


class Doubt(models.Model):
    """A record that a compromise made doubtful.

    ``stamped_at`` is the trusted time of its signature, not before ``doubtful_from``; null
    when the file has no time-stamp that holds, so that nobody can say when it was signed.
    """

    compromise = models.ForeignKey(KeyCompromise, on_delete=models.PROTECT, related_name="doubts")
    record = models.ForeignKey(Record, on_delete=models.PROTECT, related_name="doubts")
    stamped_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["compromise", "record__serial"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["compromise", "record"], name="doubt_once"),
        ]

    def __str__(self) -> str:
        return f"{self.record_id} is doubtful"
