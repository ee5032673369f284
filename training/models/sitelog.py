"""The site log of a run: notes, photographs, weather, mortar and curing."""

import uuid
from typing import ClassVar

from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from training.digests import FORM
from training.models.people import Person
from training.models.runs import CourseRun


class LogNote(models.Model):
    """Something seen or done on the scaffold; append-only, a correction names what it replaces.

    ``stage_key`` is a stage of the task, ``grid`` where on the elevation (such as C4). ``at``
    is the moment that it is about. Temperatures are in °C with one decimal; the air's and the
    wall's are apart because mortar cures by the wall's.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    run = models.ForeignKey(CourseRun, on_delete=models.PROTECT, related_name="notes")
    stage_key = models.CharField(max_length=20, blank=True)
    grid = models.CharField(max_length=40, blank=True)
    text = models.TextField(blank=True)
    at = models.DateTimeField()
    weather = models.CharField(max_length=100, blank=True)
    air_celsius = models.DecimalField(max_digits=4, decimal_places=1, null=True, blank=True)
    wall_celsius = models.DecimalField(max_digits=4, decimal_places=1, null=True, blank=True)
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    written_at = models.DateTimeField(default=timezone.now)
    replaces = models.OneToOneField(
        "self", on_delete=models.PROTECT, related_name="replaced_by", null=True, blank=True
    )

    class Meta:
        ordering: ClassVar = ["at", "written_at"]
        constraints: ClassVar = [
            models.CheckConstraint(
                name="note_temperatures_of_this_earth",
                condition=(
                    Q(air_celsius__isnull=True) | Q(air_celsius__gte=-60, air_celsius__lte=60)
                )
                & (Q(wall_celsius__isnull=True) | Q(wall_celsius__gte=-60, wall_celsius__lte=90)),
            ),
        ]

    def __str__(self) -> str:
        return self.text[:60] or f"{self.at:%d %b %Y}"


class LogPhoto(models.Model):
    """A photograph of a log note, stripped of its location, turned upright. Append-only.

    ``people`` says that somebody can be recognised in it: then the consent of those counts.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    note = models.ForeignKey(LogNote, on_delete=models.PROTECT, related_name="photos")
    position = models.PositiveIntegerField()
    caption = models.CharField(max_length=300)
    people = models.BooleanField(default=False)
    file = models.FileField(upload_to="log/%Y/", max_length=200)
    sha256 = models.CharField(max_length=64)
    size = models.PositiveIntegerField()
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    taken_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["note", "position"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["note", "position"], name="log_photo_position_once"),
            models.CheckConstraint(name="log_photo_caption_given", condition=~Q(caption="")),
            models.CheckConstraint(name="log_photo_digest_form", condition=Q(sha256__regex=FORM)),
        ]

    def __str__(self) -> str:
        return self.caption


class MortarBatch(models.Model):
    """One batch of mortar or grout: the mix, when it was mixed, how long it may be worked.

    ``working_minutes`` comes from the supplier's data sheet, which ``source`` names.
    ``discarded_at`` is set once, when what was left was thrown away.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    run = models.ForeignKey(CourseRun, on_delete=models.PROTECT, related_name="batches")
    label = models.CharField(max_length=40)
    mix = models.CharField(max_length=300)
    mixed_at = models.DateTimeField()
    working_minutes = models.PositiveIntegerField()
    source = models.CharField(max_length=300)
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    discarded_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["mixed_at", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["run", "label"], name="batch_label_once_a_run"),
            models.CheckConstraint(name="batch_mix_given", condition=~Q(mix="")),
            models.CheckConstraint(name="batch_source_given", condition=~Q(source="")),
            models.CheckConstraint(
                name="batch_works_a_while",
                condition=Q(working_minutes__gte=1, working_minutes__lte=10080),
            ),
            models.CheckConstraint(
                name="batch_discarded_later",
                condition=Q(discarded_at__isnull=True) | Q(discarded_at__gte=F("mixed_at")),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.label}: {self.mix}"


class Curing(models.Model):
    """A repair that cures under protection: from when, for how many hours, until when it did."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    run = models.ForeignKey(CourseRun, on_delete=models.PROTECT, related_name="curings")
    batch = models.ForeignKey(
        MortarBatch, on_delete=models.PROTECT, related_name="curings", null=True, blank=True
    )
    grid = models.CharField(max_length=40)
    what = models.CharField(max_length=200)
    protection = models.CharField(max_length=200)
    started_at = models.DateTimeField()
    hours = models.PositiveIntegerField()
    source = models.CharField(max_length=300)
    ended_at = models.DateTimeField(null=True, blank=True)
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["started_at", "id"]
        constraints: ClassVar = [
            models.CheckConstraint(name="curing_place_given", condition=~Q(grid="")),
            models.CheckConstraint(name="curing_source_given", condition=~Q(source="")),
            models.CheckConstraint(name="curing_lasts", condition=Q(hours__gte=1, hours__lte=2160)),
            models.CheckConstraint(
                name="curing_ends_after_start",
                condition=Q(ended_at__isnull=True) | Q(ended_at__gte=F("started_at")),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.what} at {self.grid}"
