"""What a person agreed to, and that a person was erased."""

from typing import ClassVar

from django.db import models
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _l

from training.digests import FORM
from training.models.people import Organisation, Person


class Consent(models.Model):
    """What a person said about the use of name or picture; the newest row of a kind counts.

    Append-only. ``words`` is what was read when it was given or refused.
    """

    class Kind(models.TextChoices):
        PHOTOGRAPHS = "photographs", _l("To be seen in photographs")
        NAME_IN_REPORTS = "name_in_reports", _l("To be named in reports to the owner")

    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="consents")
    provider = models.ForeignKey(Organisation, on_delete=models.PROTECT, related_name="+")
    kind = models.CharField(max_length=20, choices=Kind.choices)
    given = models.BooleanField()
    words = models.TextField()
    at = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["kind", "-at", "-id"]
        constraints: ClassVar = [
            models.CheckConstraint(
                name="consent_kind_known",
                condition=Q(kind__in=["photographs", "name_in_reports"]),
            ),
            models.CheckConstraint(name="consent_words_kept", condition=~Q(words="")),
        ]

    def __str__(self) -> str:
        return f"{self.person}: {self.kind} {'given' if self.given else 'refused'}"


class Erasure(models.Model):
    """That a person's data was erased; ``pseudonym`` stands where the name stood. Append-only."""

    person = models.OneToOneField(Person, on_delete=models.PROTECT, related_name="erasure")
    pseudonym = models.CharField(max_length=60, unique=True)
    reason = models.CharField(max_length=500)
    export_sha256 = models.CharField(max_length=64, blank=True)
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(name="erasure_reason_given", condition=~Q(reason="")),
            models.CheckConstraint(
                name="erasure_export_form",
                condition=Q(export_sha256="") | Q(export_sha256__regex=FORM),
            ),
        ]

    def __str__(self) -> str:
        return self.pseudonym
