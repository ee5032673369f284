"""What trainees made of a run, what was complained of, and what was decided to change."""

import uuid
from typing import ClassVar

from django.db import models
from django.db.models import F, Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _l

from training.models.people import Organisation, Person
from training.models.programs import Program
from training.models.runs import CourseRun, Enrolment


class Reaction(models.Model):
    """A trainee's answers about a run, once; told with nobody's name. Append-only.

    ``answers`` maps a question's key to a number from 1 to 5 or to text. ``answered`` alone
    says who has answered, apart from what.
    """

    run = models.ForeignKey(CourseRun, on_delete=models.PROTECT, related_name="reactions")
    answers = models.JSONField()
    on = models.DateField()

    def __str__(self) -> str:
        return f"Reaction to {self.run}"


class ReactionGiven(models.Model):
    """That an enrolled trainee has answered; says nothing of what. Append-only."""

    enrolment = models.OneToOneField(
        Enrolment, on_delete=models.PROTECT, related_name="reaction_given"
    )

    def __str__(self) -> str:
        return f"{self.enrolment} has answered"


class Complaint(models.Model):
    """A complaint about a program or run, and what came of it."""

    class State(models.TextChoices):
        OPEN = "open", _l("Open")
        ANSWERED = "answered", _l("Answered")

    class Kind(models.TextChoices):
        GENERAL = "general", _l("The course or its organisation")
        CONDUCT = "conduct", _l("How somebody behaved")
        SAFETY = "safety", _l("Safety at work")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    provider = models.ForeignKey(Organisation, on_delete=models.PROTECT, related_name="+")
    run = models.ForeignKey(
        CourseRun, on_delete=models.PROTECT, related_name="complaints", null=True, blank=True
    )
    kind = models.CharField(max_length=20, choices=Kind.choices, default=Kind.GENERAL)
    # Whom it is about: that person neither sees nor answers it.
    concerns = models.ForeignKey(
        Person, on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    text = models.TextField()
    made_by = models.ForeignKey(
        Person, on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    made_at = models.DateTimeField(default=timezone.now)
    state = models.CharField(max_length=20, choices=State.choices, default=State.OPEN)
    answer = models.TextField(blank=True)
    answered_by = models.ForeignKey(
        Person, on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    answered_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["-made_at"]
        constraints: ClassVar = [
            models.CheckConstraint(
                name="complaint_state_known", condition=Q(state__in=["open", "answered"])
            ),
            models.CheckConstraint(
                name="complaint_kind_known",
                condition=Q(kind__in=["general", "conduct", "safety"]),
            ),
            models.CheckConstraint(
                name="complaint_not_answered_by_concerned",
                condition=Q(concerns__isnull=True)
                | Q(answered_by__isnull=True)
                | ~Q(answered_by=F("concerns")),
            ),
            models.CheckConstraint(name="complaint_text_given", condition=~Q(text="")),
            models.CheckConstraint(
                name="complaint_answered_whole",
                condition=(~Q(state="answered") & Q(answer="", answered_at__isnull=True))
                | (Q(state="answered", answered_at__isnull=False) & ~Q(answer="")),
            ),
        ]

    def __str__(self) -> str:
        return self.text[:60]


class ProgramChange(models.Model):
    """What was decided to change in a program, on what grounds, and by when it was done."""

    program = models.ForeignKey(Program, on_delete=models.PROTECT, related_name="decided_changes")
    text = models.TextField()
    grounds = models.TextField()
    decided_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    decided_on = models.DateField()
    due_on = models.DateField(null=True, blank=True)
    done_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["-decided_on", "-id"]
        constraints: ClassVar = [
            models.CheckConstraint(name="change_text_given", condition=~Q(text="")),
            models.CheckConstraint(name="change_grounds_given", condition=~Q(grounds="")),
            models.CheckConstraint(
                name="change_due_after_decision",
                condition=Q(due_on__isnull=True) | Q(due_on__gte=F("decided_on")),
            ),
            models.CheckConstraint(
                name="change_done_after_decision",
                condition=Q(done_on__isnull=True) | Q(done_on__gte=F("decided_on")),
            ),
        ]

    def __str__(self) -> str:
        return self.text[:60]
