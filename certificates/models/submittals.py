"""What the contractor hands the owner, and the links by which the owner looks at it."""

import uuid
from typing import ClassVar

from django.db import models
from django.db.models import F, Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _l

from certificates.models.projects import Project
from certificates.models.records import Record
from training.digests import FORM
from training.models import Person


class Submittal(models.Model):
    """A signed statement of who covers which post, as it was then. Append-only.

    ``number`` counts from 1 within the project; the highest is the one that counts.
    ``document`` is ``bankermark/submittal/1``; ``records`` are those named in it, which is all
    of a crew that an owner may see.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    project = models.ForeignKey(Project, on_delete=models.PROTECT, related_name="submittals")
    number = models.PositiveIntegerField()
    document = models.JSONField()
    digest = models.CharField(max_length=64)
    pdf = models.FileField(upload_to="submittals/%Y/", max_length=200)
    pdf_sha256 = models.CharField(max_length=64, unique=True)
    certificate_sha256 = models.CharField(max_length=64)
    submitted_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    submitted_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering: ClassVar = ["project", "-number"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["project", "number"], name="submittal_number_once"),
            models.CheckConstraint(name="submittal_number_from_one", condition=Q(number__gte=1)),
            models.CheckConstraint(name="submittal_digest_form", condition=Q(digest__regex=FORM)),
            models.CheckConstraint(
                name="submittal_pdf_digest_form", condition=Q(pdf_sha256__regex=FORM)
            ),
            models.CheckConstraint(
                name="submittal_certificate_digest_form",
                condition=Q(certificate_sha256__regex=FORM),
            ),
        ]

    def __str__(self) -> str:
        return f"Submittal {self.number} of {self.project}"


class SubmittedRecord(models.Model):
    """One record that a submittal names. Append-only."""

    submittal = models.ForeignKey(Submittal, on_delete=models.PROTECT, related_name="records")
    record = models.ForeignKey(Record, on_delete=models.PROTECT, related_name="submitted")

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["submittal", "record"], name="submitted_record_once"),
        ]

    def __str__(self) -> str:
        return f"{self.record.number} in {self.submittal}"


class ShareLink(models.Model):
    """A way to one project's submittals without an account; the secret is kept as a digest.

    Only ``revoked_at`` and ``revoked_by`` are ever set later, together and once.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    project = models.ForeignKey(Project, on_delete=models.PROTECT, related_name="links")
    token_sha256 = models.CharField(max_length=64, unique=True)
    recipient = models.CharField(max_length=200)
    created_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    created_at = models.DateTimeField(default=timezone.now)
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)
    revoked_by = models.ForeignKey(
        Person, on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )

    class Meta:
        ordering: ClassVar = ["-created_at"]
        constraints: ClassVar = [
            models.CheckConstraint(name="link_token_form", condition=Q(token_sha256__regex=FORM)),
            models.CheckConstraint(name="link_recipient_given", condition=~Q(recipient="")),
            models.CheckConstraint(
                name="link_expires_later", condition=Q(expires_at__gt=F("created_at"))
            ),
            models.CheckConstraint(
                name="link_revoked_by_somebody",
                condition=Q(revoked_at__isnull=True, revoked_by__isnull=True)
                | Q(revoked_at__isnull=False, revoked_by__isnull=False),
            ),
        ]

    def __str__(self) -> str:
        return f"Link for {self.recipient}"


class LinkOpening(models.Model):
    """One look through a link: what was opened and when. Append-only.

    ``address`` is cut to its network (/24, /48): enough to see that somebody else opened it.
    """

    class What(models.TextChoices):
        PAGE = "page", _l("Page")
        PDF = "pdf", _l("Submittal as PDF")
        ZIP = "zip", _l("Submittal with every record")
        DAY = "day", _l("Day list")

    link = models.ForeignKey(ShareLink, on_delete=models.PROTECT, related_name="openings")
    what = models.CharField(max_length=10, choices=What.choices)
    submittal = models.ForeignKey(
        Submittal, on_delete=models.PROTECT, related_name="openings", null=True, blank=True
    )
    at = models.DateTimeField(default=timezone.now)
    address = models.CharField(max_length=60, blank=True)
    agent = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering: ClassVar = ["-at", "-id"]
        constraints: ClassVar = [
            models.CheckConstraint(
                name="opening_what_known", condition=Q(what__in=["page", "pdf", "zip", "day"])
            ),
        ]

    def __str__(self) -> str:
        return f"{self.what} on {self.at}"
