"""Whether an assessor scores as the others do: reference pieces, sittings, authority."""

import uuid
from typing import ClassVar

from django.db import models
from django.db.models import F, Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _l

from assessments.models.standard import SealedStandard
from training.models import Person, Program


class ReferencePiece(models.Model):
    """A piece of work with agreed scores; assessors score it and are compared.

    ``agreed`` maps the key of a criterion of ``standard`` to an observation's value (as in
    engine/FORMATS.md); ``agreed_by`` says who agreed on it and when.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    standard = models.ForeignKey(
        SealedStandard, on_delete=models.PROTECT, related_name="reference_pieces"
    )
    title = models.CharField(max_length=200)
    description = models.TextField()
    agreed = models.JSONField()
    agreed_by = models.CharField(max_length=300)
    retired_at = models.DateTimeField(null=True, blank=True)
    made_at = models.DateTimeField(default=timezone.now)
    made_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["title", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["standard", "title"], name="reference_title_once"),
            models.CheckConstraint(name="reference_agreed_by_given", condition=~Q(agreed_by="")),
        ]

    def __str__(self) -> str:
        return self.title


class CalibrationSitting(models.Model):
    """An assessor's go at a reference piece; the agreed scores stay hidden until it is finished."""

    class State(models.TextChoices):
        OPEN = "open", _l("Open")
        FINISHED = "finished", _l("Finished")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    piece = models.ForeignKey(ReferencePiece, on_delete=models.PROTECT, related_name="sittings")
    assessor = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="sittings")
    state = models.CharField(max_length=20, choices=State.choices, default=State.OPEN)
    started_at = models.DateTimeField(default=timezone.now)
    finished_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["-started_at", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["piece", "assessor"], condition=Q(state="open"), name="sitting_open_once"
            ),
            models.CheckConstraint(
                name="sitting_finished_whole",
                condition=Q(state="open", finished_at__isnull=True)
                | Q(state="finished", finished_at__isnull=False),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.assessor} on {self.piece}"


class CalibrationScore(models.Model):
    """One criterion of a reference piece as an assessor scored it; append-only."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    sitting = models.ForeignKey(CalibrationSitting, on_delete=models.PROTECT, related_name="scores")
    criterion = models.CharField(max_length=40)
    value = models.JSONField()
    made_at = models.DateTimeField(default=timezone.now)
    replaces = models.OneToOneField(
        "self", on_delete=models.PROTECT, related_name="replaced_by", null=True, blank=True
    )

    class Meta:
        ordering: ClassVar = ["made_at", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["sitting", "criterion"],
                condition=Q(replaces__isnull=True),
                name="calibration_score_first_once",
            ),
            models.CheckConstraint(
                name="calibration_score_replaces_another",
                condition=Q(replaces__isnull=True) | ~Q(replaces=F("id")),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.criterion}: {self.sitting}"


class AssessorRequirement(models.Model):
    """What an assessor must reach to sign off under a program; append-only, the newest counts.

    ``pieces`` reference pieces finished within ``months`` months; over their criteria the share
    scored exactly as agreed at least ``exact``, and the mean difference of the scores at most
    ``bias`` either way. Shares are exact text.
    """

    program = models.ForeignKey(
        Program, on_delete=models.PROTECT, related_name="assessor_requirements"
    )
    pieces = models.PositiveIntegerField()
    months = models.PositiveIntegerField()
    exact = models.CharField(max_length=40)
    bias = models.CharField(max_length=40)
    set_at = models.DateTimeField(default=timezone.now)
    set_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["-set_at", "-id"]
        constraints: ClassVar = [
            models.CheckConstraint(name="requirement_pieces", condition=Q(pieces__gte=1)),
            models.CheckConstraint(name="requirement_months", condition=Q(months__gte=1)),
        ]

    def __str__(self) -> str:
        return f"{self.program}: {self.pieces} pieces in {self.months} months"


class Authorisation(models.Model):
    """That a person may sign off under a program, or no longer; append-only, the newest counts.

    ``figures`` is what was reached when it was granted. ``reason`` is needed to take it away.
    """

    program = models.ForeignKey(Program, on_delete=models.PROTECT, related_name="authorisations")
    assessor = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="authorisations")
    granted = models.BooleanField()
    figures = models.JSONField(default=dict)
    reason = models.TextField(blank=True)
    until = models.DateField(null=True, blank=True)
    at = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["-at", "-id"]
        constraints: ClassVar = [
            models.CheckConstraint(
                name="authorisation_whole",
                condition=Q(granted=True, until__isnull=False) | (Q(granted=False) & ~Q(reason="")),
            ),
            models.CheckConstraint(name="authorisation_by_another", condition=~Q(assessor=F("by"))),
        ]

    def __str__(self) -> str:
        return f"{self.assessor}: {'may' if self.granted else 'may not'} sign off {self.program}"
