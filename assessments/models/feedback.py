"""What follows a result between trainee and instructor: read it, agree what to practise."""

import uuid
from typing import ClassVar

from django.db import models
from django.db.models import F, Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _l

from assessments.models.attempts import Attempt, Decision
from training.models import Module, Person


class Acknowledgement(models.Model):
    """That the trainee read a decision and understood it; append-only, one a decision.

    ``words`` is what was read when saying so, in the language it was shown in. On an
    instructor's device ``witness`` is who was signed in there and the trainee gave a PIN.
    """

    class Means(models.TextChoices):
        OWN = "own", _l("On the own account")
        PIN = "pin", _l("On an instructor's device, by PIN")

    decision = models.OneToOneField(
        Decision, on_delete=models.PROTECT, related_name="acknowledgement"
    )
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    means = models.CharField(max_length=10, choices=Means.choices)
    witness = models.ForeignKey(
        Person, on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    words = models.TextField()
    comment = models.TextField(blank=True)
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(
                name="acknowledgement_means_known", condition=Q(means__in=["own", "pin"])
            ),
            models.CheckConstraint(name="acknowledgement_words_kept", condition=~Q(words="")),
            models.CheckConstraint(
                name="acknowledgement_witnessed",
                condition=Q(means="own", witness__isnull=True)
                | Q(means="pin", witness__isnull=False),
            ),
            models.CheckConstraint(
                name="acknowledgement_witness_is_another",
                condition=Q(witness__isnull=True) | ~Q(witness=F("person")),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.person} read {self.decision}"


class PracticePlan(models.Model):
    """What to practise until when, proposed by one side and agreed by the other.

    A change is a new plan that replaces this one and has to be agreed again; at most one plan of
    an attempt is replaced by nothing. Only the agreement and the days done are set later.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    attempt = models.ForeignKey(Attempt, on_delete=models.PROTECT, related_name="practice_plans")
    replaces = models.OneToOneField(
        "self", on_delete=models.PROTECT, related_name="replaced_by", null=True, blank=True
    )
    note = models.TextField(blank=True)
    proposed_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    proposed_at = models.DateTimeField(default=timezone.now)
    agreed_by = models.ForeignKey(
        Person, on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    agreed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["-proposed_at", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["attempt"], condition=Q(replaces__isnull=True), name="plan_first_once"
            ),
            models.CheckConstraint(
                name="plan_replaces_another", condition=Q(replaces=None) | ~Q(replaces=F("id"))
            ),
            models.CheckConstraint(
                name="plan_agreed_whole",
                condition=Q(agreed_by__isnull=True, agreed_at__isnull=True)
                | Q(agreed_by__isnull=False, agreed_at__isnull=False),
            ),
            models.CheckConstraint(
                name="plan_agreed_by_another",
                condition=Q(agreed_by__isnull=True) | ~Q(agreed_by=F("proposed_by")),
            ),
        ]

    def __str__(self) -> str:
        return f"Practice after {self.attempt}"


class PlanItem(models.Model):
    """One thing to practise, by a day; ``criterion`` is a key of the attempt's standard."""

    plan = models.ForeignKey(PracticePlan, on_delete=models.PROTECT, related_name="items")
    position = models.PositiveIntegerField()
    criterion = models.CharField(max_length=20, blank=True)
    text = models.CharField(max_length=500)
    module = models.ForeignKey(
        Module, on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    by_day = models.DateField()
    done_on = models.DateField(null=True, blank=True)
    done_by = models.ForeignKey(
        Person, on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )

    class Meta:
        ordering: ClassVar = ["plan", "position"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["plan", "position"], name="plan_item_position_once"),
            models.CheckConstraint(name="plan_item_text_given", condition=~Q(text="")),
            models.CheckConstraint(
                name="plan_item_done_whole",
                condition=Q(done_on__isnull=True, done_by__isnull=True)
                | Q(done_on__isnull=False, done_by__isnull=False),
            ),
        ]

    def __str__(self) -> str:
        return self.text


class PracticePiece(models.Model):
    """A piece that a trainee made for practice; what was seen on it counts for nothing."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    enrolment = models.ForeignKey(
        "training.Enrolment", on_delete=models.PROTECT, related_name="practice_pieces"
    )
    standard = models.ForeignKey(
        "assessments.SealedStandard", on_delete=models.PROTECT, related_name="+"
    )
    session = models.ForeignKey(
        "training.Session", on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    title = models.CharField(max_length=200)
    made_on = models.DateField()
    recorded_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering: ClassVar = ["made_on", "recorded_at", "id"]
        constraints: ClassVar = [
            models.CheckConstraint(name="practice_piece_title_given", condition=~Q(title="")),
        ]

    def __str__(self) -> str:
        return self.title


class PracticeScore(models.Model):
    """One criterion as it was seen on a practice piece; append-only, corrections name the old one.

    ``value`` is an observation's value as in engine/FORMATS.md.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    piece = models.ForeignKey(PracticePiece, on_delete=models.PROTECT, related_name="scores")
    criterion = models.CharField(max_length=20)
    value = models.JSONField()
    note = models.TextField(blank=True)
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(default=timezone.now)
    replaces = models.OneToOneField(
        "self", on_delete=models.PROTECT, related_name="replaced_by", null=True, blank=True
    )

    class Meta:
        ordering: ClassVar = ["at", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["piece", "criterion"],
                condition=Q(replaces__isnull=True),
                name="practice_score_first_once",
            ),
            models.CheckConstraint(
                name="practice_score_replaces_another",
                condition=Q(replaces__isnull=True) | ~Q(replaces=F("id")),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.criterion}: {self.piece}"
