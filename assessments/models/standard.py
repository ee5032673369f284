"""The pass rule as drafted, and the passing standard once sealed."""

import uuid
from typing import ClassVar

from django.db import models
from django.db.models import Q
from django.utils import timezone

from training.digests import FORM
from training.models import Person, Program


class PassRule(models.Model):
    """The drafted rule of a program: the ``pass_rule`` part of the standard document."""

    program = models.OneToOneField(Program, on_delete=models.CASCADE, related_name="pass_rule")
    document = models.JSONField()

    def __str__(self) -> str:
        return f"Pass rule of {self.program}"


class SealedStandard(models.Model):
    """A passing standard that cannot change any more. The database keeps it append-only.

    ``digest`` is the SHA-256 over the RFC 8785 form of ``document``.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    program = models.ForeignKey(Program, on_delete=models.PROTECT, related_name="standards")
    serial = models.PositiveIntegerField()
    document = models.JSONField()
    digest = models.CharField(max_length=64)
    sealed_at = models.DateTimeField(default=timezone.now)
    sealed_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["program", "-serial"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["program", "serial"], name="standard_serial_once"),
            models.UniqueConstraint(fields=["program", "digest"], name="standard_digest_once"),
            models.CheckConstraint(name="standard_digest_form", condition=Q(digest__regex=FORM)),
            models.CheckConstraint(name="standard_serial_from_one", condition=Q(serial__gte=1)),
        ]

    def __str__(self) -> str:
        return f"Standard {self.serial} of {self.program}"
