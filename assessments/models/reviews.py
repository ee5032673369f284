"""A decision looked at again by someone who neither scored nor decided."""

import uuid
from typing import ClassVar

from django.db import models
from django.db.models import F, Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _l

from assessments.models.attempts import Attempt, Decision
from training.digests import FORM
from training.models import Person


class Review(models.Model):
    """What a trainee asks about a decision, who looks at it again, and what came of it.

    At most one review of a decision that is not taken back, and one under way of an attempt. The
    database refuses a reviewer who is the trainee, scored something of the attempt, or decided
    it. ``answer_by`` is the last day for the outcome. ``result`` is the decision that replaces the
    reviewed one when the outcome is ``changed``; a void attempt has none.
    """

    class State(models.TextChoices):
        ASKED = "asked", _l("Asked for")
        GIVEN = "given", _l("With a reviewer")
        ANSWERED = "answered", _l("Answered")
        TAKEN_BACK = "taken_back", _l("Taken back")

    class Outcome(models.TextChoices):
        UPHELD = "upheld", _l("Upheld")
        CHANGED = "changed", _l("Changed")
        VOID = "void", _l("Attempt void")

    # Waiting for its outcome.
    UNDER_WAY: ClassVar[tuple[State, ...]] = (State.ASKED, State.GIVEN)

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    attempt = models.ForeignKey(Attempt, on_delete=models.PROTECT, related_name="reviews")
    decision = models.ForeignKey(Decision, on_delete=models.PROTECT, related_name="reviews")
    asked_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    asked_at = models.DateTimeField(default=timezone.now)
    reason = models.TextField()
    answer_by = models.DateField()
    state = models.CharField(max_length=20, choices=State.choices, default=State.ASKED)
    reviewer = models.ForeignKey(
        Person, on_delete=models.PROTECT, related_name="reviews_given", null=True, blank=True
    )
    given_by = models.ForeignKey(
        Person, on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    given_at = models.DateTimeField(null=True, blank=True)
    # When the reviewer had been through every criterion: from then on the earlier scores are shown.
    scored_at = models.DateTimeField(null=True, blank=True)
    outcome = models.CharField(max_length=20, choices=Outcome.choices, blank=True)
    answer = models.TextField(blank=True)
    answered_at = models.DateTimeField(null=True, blank=True)
    result = models.OneToOneField(
        Decision, on_delete=models.PROTECT, related_name="made_by_review", null=True, blank=True
    )

    class Meta:
        ordering: ClassVar = ["-asked_at", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["decision"],
                condition=~Q(state="taken_back"),
                name="review_of_decision_once",
            ),
            models.UniqueConstraint(
                fields=["attempt"],
                condition=Q(state__in=["asked", "given"]),
                name="review_under_way_once",
            ),
            models.CheckConstraint(
                name="review_state_known",
                condition=Q(state__in=["asked", "given", "answered", "taken_back"]),
            ),
            models.CheckConstraint(
                name="review_outcome_known",
                condition=Q(outcome__in=["", "upheld", "changed", "void"]),
            ),
            models.CheckConstraint(name="review_reason_given", condition=~Q(reason="")),
            models.CheckConstraint(
                name="review_given_whole",
                condition=Q(reviewer__isnull=True, given_by__isnull=True, given_at__isnull=True)
                | Q(reviewer__isnull=False, given_by__isnull=False, given_at__isnull=False),
            ),
            models.CheckConstraint(
                name="review_with_reviewer",
                condition=~Q(state__in=["given", "answered"]) | Q(reviewer__isnull=False),
            ),
            models.CheckConstraint(
                name="review_without_reviewer",
                condition=~Q(state="asked") | Q(reviewer__isnull=True),
            ),
            models.CheckConstraint(
                name="review_scored_by_reviewer",
                condition=Q(scored_at__isnull=True) | Q(reviewer__isnull=False),
            ),
            models.CheckConstraint(
                name="review_answered_whole",
                condition=(
                    Q(state="answered", answered_at__isnull=False) & ~Q(outcome="") & ~Q(answer="")
                )
                | (~Q(state="answered") & Q(answered_at__isnull=True, outcome="", answer="")),
            ),
            models.CheckConstraint(
                name="review_changed_has_decision",
                condition=Q(outcome="changed", result__isnull=False)
                | (~Q(outcome="changed") & Q(result__isnull=True)),
            ),
            models.CheckConstraint(
                name="review_reviewer_is_another",
                condition=Q(reviewer__isnull=True) | ~Q(reviewer=F("asked_by")),
            ),
        ]

    def __str__(self) -> str:
        return f"Review of {self.decision}"


class ReviewPhoto(models.Model):
    """A photograph that a trainee hands in with a review; append-only, kept by its digest."""

    review = models.ForeignKey(Review, on_delete=models.PROTECT, related_name="photos")
    file = models.FileField(upload_to="reviews/%Y/", max_length=200)
    sha256 = models.CharField(max_length=64)
    caption = models.CharField(max_length=500, blank=True)
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering: ClassVar = ["id"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["review", "sha256"], name="review_photo_once"),
            models.CheckConstraint(
                name="review_photo_digest_form", condition=Q(sha256__regex=FORM)
            ),
        ]

    def __str__(self) -> str:
        return f"Photograph for {self.review}"


class ReviewScore(models.Model):
    """How the reviewer scores one criterion, from photographs and readings alone; append-only.

    ``value`` is an observation's value (engine/FORMATS.md), or null where the evidence does not
    show it, with the reason in ``note``. The earlier scores stay hidden until the reviewer has
    been through every criterion.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    review = models.ForeignKey(Review, on_delete=models.PROTECT, related_name="scores")
    criterion = models.CharField(max_length=20)
    value = models.JSONField(null=True, blank=True)
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
                fields=["review", "by", "criterion"],
                condition=Q(replaces__isnull=True),
                name="review_score_first_once",
            ),
            models.CheckConstraint(
                name="review_score_seen_or_said_why",
                condition=Q(value__isnull=False) | ~Q(note=""),
            ),
            models.CheckConstraint(
                name="review_score_replaces_another",
                condition=Q(replaces__isnull=True) | ~Q(replaces=F("id")),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.criterion}: {self.review}"
