"""The practical task: its stages, and the criteria that the piece is looked at by."""

from typing import ClassVar

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _l

from training.models import Outcome, Program


class PracticalTask(models.Model):
    """The repair to be made, with the conditions under which it is assessed.

    ``cautions`` is a list of {hazard, text, source}; ``conditions`` a list of {name, value};
    ``dimensions`` maps a name to {value, unit}; ``sheet`` is the list of sums that
    ``engine.tasksheet`` works out over them.
    """

    program = models.OneToOneField(Program, on_delete=models.CASCADE, related_name="task")
    title = models.CharField(max_length=200)
    brief = models.TextField(blank=True)
    cautions = models.JSONField(default=list)
    conditions = models.JSONField(default=list)
    dimensions = models.JSONField(default=dict)
    sheet = models.JSONField(default=list)

    def __str__(self) -> str:
        return self.title


class Stage(models.Model):
    """A step of the task; a hold point must be accepted before the next step hides it."""

    task = models.ForeignKey(PracticalTask, on_delete=models.CASCADE, related_name="stages")
    position = models.PositiveIntegerField()
    key = models.CharField(max_length=20)
    title = models.CharField(max_length=200)
    hold_point = models.BooleanField(default=False)

    class Meta:
        ordering: ClassVar = ["position"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["task", "key"], name="stage_key_once"),
            models.UniqueConstraint(fields=["task", "position"], name="stage_position_once"),
        ]

    def __str__(self) -> str:
        return f"{self.key} {self.title}"


class Criterion(models.Model):
    """One thing looked at; ``definition`` holds the fields of its kind (engine/FORMATS.md)."""

    class Kind(models.TextChoices):
        RATED = "rated", _l("Rated")
        MEASURED = "measured", _l("Measured")
        CHECKED = "checked", _l("Checked")
        COUNTED = "counted", _l("Counted")
        TIMED = "timed", _l("Timed")

    task = models.ForeignKey(PracticalTask, on_delete=models.CASCADE, related_name="criteria")
    stage = models.ForeignKey(Stage, on_delete=models.CASCADE, related_name="criteria")
    position = models.PositiveIntegerField()
    key = models.CharField(max_length=20)
    title = models.CharField(max_length=200)
    kind = models.CharField(max_length=20, choices=Kind.choices)
    critical = models.BooleanField(default=False)
    not_applicable = models.BooleanField(default=False)  # allowed?
    weight = models.CharField(max_length=40, default="1")  # exact, as text
    guidance = models.TextField(blank=True)
    definition = models.JSONField(default=dict)
    outcomes: "models.ManyToManyField[Outcome, CriterionOutcome]" = models.ManyToManyField(
        Outcome, through="CriterionOutcome", related_name="criteria"
    )

    class Meta:
        ordering: ClassVar = ["position"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["task", "key"], name="criterion_key_once"),
            models.UniqueConstraint(fields=["task", "position"], name="criterion_position_once"),
            models.CheckConstraint(
                name="criterion_kind_known",
                condition=Q(kind__in=["rated", "measured", "checked", "counted", "timed"]),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.key} {self.title}"


class CriterionOutcome(models.Model):
    """How much a criterion weighs in an outcome; ``weight`` is an exact number as text."""

    criterion = models.ForeignKey(Criterion, on_delete=models.CASCADE, related_name="serves")
    outcome = models.ForeignKey(Outcome, on_delete=models.CASCADE, related_name="served_by")
    weight = models.CharField(max_length=40, default="1")

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["criterion", "outcome"], name="criterion_serves_outcome_once"
            )
        ]

    def __str__(self) -> str:
        return f"{self.criterion.key} serves {self.outcome.key} with weight {self.weight}"
