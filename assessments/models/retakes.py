"""When an attempt may be made again, and what of an earlier one still stands."""

from typing import ClassVar

from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from assessments.models.attempts import Attempt, Decision
from training.models import Person, Program


class SecondLookRules(models.Model):
    """The rules of retake and review as drafted; sealed as ``about.retake`` and ``about.review``.

    Either is as in engine/FORMATS.md, or null where the program says nothing of it.
    """

    program = models.OneToOneField(
        Program, on_delete=models.CASCADE, related_name="second_look_rules"
    )
    retake = models.JSONField(null=True, blank=True)
    review = models.JSONField(null=True, blank=True)

    def __str__(self) -> str:
        return f"Rules of retake and review of {self.program}"


class Retake(models.Model):
    """That an attempt is made again after another of the same enrolment; append-only.

    ``stages`` are the keys of the stages to be made again, ``carried`` those whose observations
    stand: both empty for the whole task. ``stands`` is what who started it found when looking at
    the work that stays; it is there whenever something is carried.
    """

    attempt = models.OneToOneField(Attempt, on_delete=models.PROTECT, related_name="retake")
    of = models.ForeignKey(Attempt, on_delete=models.PROTECT, related_name="retakes")
    decision = models.ForeignKey(Decision, on_delete=models.PROTECT, related_name="retakes")
    stages = models.JSONField(default=list, blank=True)
    carried = models.JSONField(default=list, blank=True)
    stands = models.TextField(blank=True)
    made_at = models.DateTimeField(default=timezone.now)
    made_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(name="retake_of_another", condition=~Q(attempt=F("of"))),
            models.CheckConstraint(
                name="retake_carried_looked_at", condition=Q(carried=[]) | ~Q(stands="")
            ),
            models.CheckConstraint(
                name="retake_stages_with_carried",
                condition=Q(stages=[], carried=[]) | (~Q(stages=[]) & ~Q(carried=[])),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.attempt} after {self.of}"


class RetakeDay(models.Model):
    """When and where an attempt is to be made again; the newest of an enrolment counts.

    Append-only: a change of plan is a new row, a day given up has ``cancelled`` and a reason.
    """

    attempt = models.ForeignKey(Attempt, on_delete=models.PROTECT, related_name="retake_days")
    day = models.DateField()
    place = models.CharField(max_length=300)
    cancelled = models.BooleanField(default=False)
    reason = models.CharField(max_length=500, blank=True)
    made_at = models.DateTimeField(default=timezone.now)
    made_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["-made_at", "-id"]
        constraints: ClassVar = [
            models.CheckConstraint(name="retake_day_place_given", condition=~Q(place="")),
            models.CheckConstraint(
                name="retake_day_cancelled_with_reason",
                condition=Q(cancelled=False) | ~Q(reason=""),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.attempt} again on {self.day}"
