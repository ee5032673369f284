"""The signed record of a decision."""

import uuid
from typing import ClassVar

from django.db import models
from django.db.models import Q
from django.utils import timezone

from assessments.models import Decision
from training.digests import FORM
from training.models import Organisation, Person


class Record(models.Model):
    """The signed PDFs of a decision and the facts in them. The database keeps it append-only.

    ``pdf`` is the certificate, ``competency`` the competency record. Records that were issued
    before there were two documents have both in ``pdf`` and an empty ``competency``.
    ``number`` is what the paper shows: not guessable. ``serial`` counts without gaps
    within the provider. A correction is a new record that names the one it replaces.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    provider = models.ForeignKey(Organisation, on_delete=models.PROTECT, related_name="records")
    serial = models.PositiveIntegerField()
    number = models.CharField(max_length=30, unique=True)
    decision = models.ForeignKey(Decision, on_delete=models.PROTECT, related_name="records")
    holder = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="records")
    document = models.JSONField()
    digest = models.CharField(max_length=64)
    pdf = models.FileField(upload_to="records/%Y/", max_length=200)
    pdf_sha256 = models.CharField(max_length=64, unique=True)
    competency = models.FileField(upload_to="records/%Y/", max_length=200, blank=True, default="")
    competency_sha256 = models.CharField(max_length=64, unique=True, null=True, blank=True)
    certificate_sha256 = models.CharField(max_length=64)
    issued_at = models.DateTimeField(default=timezone.now)
    issued_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    valid_until = models.DateField(null=True, blank=True)
    replaces = models.OneToOneField(
        "self", on_delete=models.PROTECT, related_name="replaced_by", null=True, blank=True
    )

    class Meta:
        ordering: ClassVar = ["-issued_at"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["provider", "serial"], name="record_serial_once"),
            models.UniqueConstraint(
                fields=["decision"],
                condition=Q(replaces__isnull=True),
                name="record_first_once_a_decision",
            ),
            models.CheckConstraint(
                name="record_number_form",
                condition=Q(number__regex=r"^[0-9A-HJKMNP-TV-Z]{4}(-[0-9A-HJKMNP-TV-Z]{4}){3}$"),
            ),
            models.CheckConstraint(name="record_digest_form", condition=Q(digest__regex=FORM)),
            models.CheckConstraint(
                name="record_pdf_digest_form", condition=Q(pdf_sha256__regex=FORM)
            ),
            models.CheckConstraint(
                name="record_competency_with_digest",
                condition=Q(competency="", competency_sha256__isnull=True)
                # The digest of a file must be there: a CHECK lets NULL pass a comparison.
                | (
                    ~Q(competency="")
                    & Q(competency_sha256__isnull=False, competency_sha256__regex=FORM)
                ),
            ),
            models.CheckConstraint(
                name="record_certificate_digest_form",
                condition=Q(certificate_sha256__regex=FORM),
            ),
            models.CheckConstraint(name="record_serial_from_one", condition=Q(serial__gte=1)),
        ]

    def __str__(self) -> str:
        return f"{self.number}: {self.holder}"
