"""Papers that a person holds, and files that a module is taught from."""

import uuid
from typing import ClassVar

from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from training.digests import FORM
from training.models.people import Organisation, Person
from training.models.programs import Program


class HeldDocument(models.Model):
    """A paper of a person: a site induction, a respirator fit, an instructor's qualification.

    Append-only; taken back by a ``DocumentTakenBack``. ``kind`` is the key of a program's
    prerequisite, or ``instructor``. ``expires_on`` is the last day on which it holds. The
    paper itself may be kept as a file; most sites only look at it, and say who did.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="documents")
    provider = models.ForeignKey(Organisation, on_delete=models.PROTECT, related_name="+")
    kind = models.CharField(max_length=40)
    title = models.CharField(max_length=200)
    issuer = models.CharField(max_length=200)
    number = models.CharField(max_length=100, blank=True)
    issued_on = models.DateField()
    expires_on = models.DateField(null=True, blank=True)
    file = models.FileField(upload_to="documents/%Y/", max_length=200, blank=True)
    sha256 = models.CharField(max_length=64, blank=True)
    seen_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    seen_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering: ClassVar = ["kind", "-issued_on"]
        constraints: ClassVar = [
            models.CheckConstraint(name="document_kind_given", condition=~Q(kind="")),
            models.CheckConstraint(name="document_title_given", condition=~Q(title="")),
            models.CheckConstraint(name="document_issuer_given", condition=~Q(issuer="")),
            models.CheckConstraint(
                name="document_expires_after_issue",
                condition=Q(expires_on__isnull=True) | Q(expires_on__gte=F("issued_on")),
            ),
            models.CheckConstraint(
                name="document_file_with_digest",
                condition=Q(file="", sha256="") | (~Q(file="") & Q(sha256__regex=FORM)),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.title} of {self.person}"


class DocumentTakenBack(models.Model):
    """That a held document counts no longer, and why. Append-only."""

    document = models.OneToOneField(
        HeldDocument, on_delete=models.PROTECT, related_name="taken_back"
    )
    reason = models.CharField(max_length=500)
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(name="taken_back_with_reason", condition=~Q(reason="")),
        ]

    def __str__(self) -> str:
        return f"{self.document} taken back"


class Material(models.Model):
    """A file that a module is taught from, in one version; a new version is a new row."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    program = models.ForeignKey(Program, on_delete=models.PROTECT, related_name="materials")
    module_key = models.CharField(max_length=20)
    title = models.CharField(max_length=200)
    version = models.PositiveIntegerField()
    name = models.CharField(max_length=200)  # of the file as it was handed in
    file = models.FileField(upload_to="materials/%Y/", max_length=200)
    sha256 = models.CharField(max_length=64)
    size = models.PositiveIntegerField()
    changed = models.CharField(max_length=500, blank=True)
    uploaded_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    uploaded_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering: ClassVar = ["module_key", "title", "-version"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["program", "module_key", "title", "version"], name="material_version_once"
            ),
            models.CheckConstraint(name="material_title_given", condition=~Q(title="")),
            models.CheckConstraint(name="material_digest_form", condition=Q(sha256__regex=FORM)),
            models.CheckConstraint(name="material_version_from_one", condition=Q(version__gte=1)),
            models.CheckConstraint(
                name="material_change_said", condition=Q(version=1) | ~Q(changed="")
            ),
        ]

    def __str__(self) -> str:
        return f"{self.title}, version {self.version}"
