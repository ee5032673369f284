"""A certificate program: its modules and the outcomes that they teach."""

import uuid
from typing import ClassVar

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _l

from training.models.people import Organisation


class Program(models.Model):
    """One version of a program; a change after sealing is a new version."""

    class Unit(models.TextChoices):
        INCH = "in", _l("inches")
        MILLIMETRE = "mm", _l("millimetres")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    provider = models.ForeignKey(Organisation, on_delete=models.PROTECT, related_name="programs")
    code = models.CharField(max_length=40)
    version = models.PositiveIntegerField(default=1)
    title = models.CharField(max_length=200)
    needs = models.TextField(blank=True)  # the needs analysis: why it is taught at all
    purpose = models.TextField(blank=True)
    scope = models.TextField(blank=True)
    unit = models.CharField(max_length=2, choices=Unit.choices)
    validity_months = models.PositiveIntegerField(null=True, blank=True)
    changes = models.TextField(blank=True)  # since the version before, in the author's words
    loaded_at = models.DateTimeField(auto_now=True)

    class Meta:
        ordering: ClassVar = ["code", "-version"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["provider", "code", "version"], name="program_version_once"
            ),
            models.CheckConstraint(
                name="program_code_plain", condition=Q(code__regex=r"^[A-Z][A-Z0-9-]{1,39}$")
            ),
            models.CheckConstraint(name="program_version_from_one", condition=Q(version__gte=1)),
            models.CheckConstraint(name="program_unit_known", condition=Q(unit__in=["in", "mm"])),
            models.CheckConstraint(
                name="program_validity_positive",
                condition=Q(validity_months__isnull=True) | Q(validity_months__gte=1),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.title} ({self.code}, version {self.version})"


class Outcome(models.Model):
    """What a holder can do afterwards; ``key`` (O1, O2...) names it inside the program."""

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="outcomes")
    position = models.PositiveIntegerField()
    key = models.CharField(max_length=20)
    statement = models.TextField()
    minimum = models.CharField(max_length=40, blank=True)  # exact fraction of 1, as text

    class Meta:
        ordering: ClassVar = ["position"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["program", "key"], name="outcome_key_once"),
            models.UniqueConstraint(fields=["program", "position"], name="outcome_position_once"),
        ]

    def __str__(self) -> str:
        return f"{self.key} {self.statement}"


class Module(models.Model):
    """One piece of teaching and the outcomes it serves."""

    class Kind(models.TextChoices):
        LECTURE = "lecture", _l("Lecture")
        DEMONSTRATION = "demonstration", _l("Demonstration")
        PRACTICE = "supervised practice", _l("Supervised practice")

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="modules")
    position = models.PositiveIntegerField()
    key = models.CharField(max_length=20)
    title = models.CharField(max_length=200)
    kind = models.CharField(max_length=20, choices=Kind.choices)
    minutes = models.PositiveIntegerField()
    content = models.TextField(blank=True)
    outcomes = models.ManyToManyField(Outcome, related_name="modules")

    class Meta:
        ordering: ClassVar = ["position"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["program", "key"], name="module_key_once"),
            models.UniqueConstraint(fields=["program", "position"], name="module_position_once"),
            models.CheckConstraint(
                name="module_kind_known",
                condition=Q(kind__in=["lecture", "demonstration", "supervised practice"]),
            ),
            models.CheckConstraint(name="module_minutes_positive", condition=Q(minutes__gte=1)),
        ]

    def __str__(self) -> str:
        return f"{self.key} {self.title}"


class ProgramPrerequisite(models.Model):
    """What a person has to bring; ``key`` is the kind of the paper that shows it.

    ``applies`` says what is closed without it: the whole course, or the practical task alone.
    """

    class Applies(models.TextChoices):
        COURSE = "course", _l("The whole course")
        PRACTICAL = "practical", _l("The practical task")

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="prerequisites")
    position = models.PositiveIntegerField()
    key = models.CharField(max_length=20)
    title = models.CharField(max_length=200)
    applies = models.CharField(max_length=10, choices=Applies.choices)
    accepts = models.TextField()  # what paper is accepted
    source = models.CharField(max_length=500)

    class Meta:
        ordering: ClassVar = ["position"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["program", "key"], name="prerequisite_key_once"),
            models.UniqueConstraint(
                fields=["program", "position"], name="prerequisite_position_once"
            ),
            models.CheckConstraint(
                name="prerequisite_applies_known",
                condition=Q(applies__in=["course", "practical"]),
            ),
            # Papers of that kind are an instructor's qualifications.
            models.CheckConstraint(
                name="prerequisite_not_instructor", condition=~Q(key="instructor")
            ),
            models.CheckConstraint(name="prerequisite_source_given", condition=~Q(source="")),
        ]

    def __str__(self) -> str:
        return self.title
