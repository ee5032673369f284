"""The panel that recommends a passing standard: its judges, rounds, judgements and adoption."""

import uuid
from typing import ClassVar

from django.db import models
from django.db.models import F, Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _l

from training.digests import FORM
from training.models import CourseRun, Person, Program


class Panel(models.Model):
    """Judges asked, by one method, for the passing standard of one version of a program.

    The method, the statistic over the judges and the description of the mason who just meets
    the standard are fixed before the first round opens. ``judged_digest`` is the digest of what
    the judges were shown, from then on. ``sources`` are the runs whose attempts are judged,
    where the method needs scores: the standard made from them never applies to these runs.
    """

    class Method(models.TextChoices):
        ANGOFF = "angoff", _l("Modified Angoff")
        EBEL = "ebel", _l("Ebel")
        BORDERLINE = "borderline", _l("Borderline regression")
        CONTRASTING = "contrasting", _l("Contrasting groups")

    class Statistic(models.TextChoices):
        MEAN = "mean", _l("Mean")
        MEDIAN = "median", _l("Median")
        TRIMMED = "trimmed", _l("Trimmed mean")

    class State(models.TextChoices):
        PREPARING = "preparing", _l("Preparing")
        JUDGING = "judging", _l("Judging")
        JUDGED = "judged", _l("Judged")
        ADOPTED = "adopted", _l("Adopted")
        ABANDONED = "abandoned", _l("Abandoned")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    program = models.ForeignKey(Program, on_delete=models.PROTECT, related_name="panels")
    number = models.PositiveIntegerField()
    method = models.CharField(max_length=20, choices=Method.choices)
    statistic = models.CharField(max_length=20, choices=Statistic.choices, default=Statistic.MEAN)
    just_meets = models.TextField()
    sense_check = models.BooleanField(default=False)
    sources: "models.ManyToManyField[CourseRun, models.Model]" = models.ManyToManyField(
        CourseRun, related_name="panels", blank=True
    )
    state = models.CharField(max_length=20, choices=State.choices, default=State.PREPARING)
    judged_digest = models.CharField(max_length=64, blank=True)
    ended_because = models.TextField(blank=True)
    made_at = models.DateTimeField(default=timezone.now)
    made_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["program", "-number"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["program", "number"], name="panel_number_once"),
            models.UniqueConstraint(
                fields=["program"],
                condition=Q(state__in=["preparing", "judging", "judged"]),
                name="panel_one_at_work",
            ),
            models.CheckConstraint(name="panel_number_from_one", condition=Q(number__gte=1)),
            models.CheckConstraint(
                name="panel_state_known",
                condition=Q(state__in=["preparing", "judging", "judged", "adopted", "abandoned"]),
            ),
            models.CheckConstraint(
                name="panel_method_known",
                condition=Q(method__in=["angoff", "ebel", "borderline", "contrasting"]),
            ),
            models.CheckConstraint(
                name="panel_statistic_known",
                condition=Q(statistic__in=["mean", "median", "trimmed"]),
            ),
            models.CheckConstraint(
                name="panel_judged_digest_form",
                condition=Q(judged_digest="", state__in=["preparing", "abandoned"])
                | Q(judged_digest__regex=FORM),
            ),
            models.CheckConstraint(
                name="panel_abandoned_has_reason",
                condition=~Q(state="abandoned") | ~Q(ended_because=""),
            ),
            models.CheckConstraint(name="panel_just_meets_given", condition=~Q(just_meets="")),
        ]

    def __str__(self) -> str:
        return f"Panel {self.number} of {self.program}"


class Judge(models.Model):
    """A person's seat on a panel: why qualified, and with what interests declared."""

    class State(models.TextChoices):
        INVITED = "invited", _l("Invited")
        SEATED = "seated", _l("Seated")
        STOOD_DOWN = "stood_down", _l("Stood down")

    panel = models.ForeignKey(Panel, on_delete=models.PROTECT, related_name="judges")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="seats")
    state = models.CharField(max_length=20, choices=State.choices, default=State.INVITED)
    qualifications = models.TextField(blank=True)
    interests = models.TextField(blank=True)
    declared_at = models.DateTimeField(null=True, blank=True)
    stood_down_because = models.TextField(blank=True)
    invited_at = models.DateTimeField(default=timezone.now)
    invited_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["panel", "person__full_name", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["panel", "person"], name="judge_seated_once"),
            models.CheckConstraint(
                name="judge_state_known",
                condition=Q(state__in=["invited", "seated", "stood_down"]),
            ),
            models.CheckConstraint(
                name="judge_seated_has_declared",
                condition=~Q(state="seated")
                | (~Q(qualifications="") & ~Q(interests="") & Q(declared_at__isnull=False)),
            ),
            models.CheckConstraint(
                name="judge_stood_down_has_reason",
                condition=~Q(state="stood_down") | ~Q(stood_down_because=""),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.person} on {self.panel}"


class JudgingRound(models.Model):
    """A round in which each judge enters judgements unseen; number 0 is for training."""

    class State(models.TextChoices):
        OPEN = "open", _l("Open")
        CLOSED = "closed", _l("Closed")

    panel = models.ForeignKey(Panel, on_delete=models.PROTECT, related_name="rounds")
    number = models.PositiveIntegerField()
    state = models.CharField(max_length=20, choices=State.choices, default=State.OPEN)
    opened_at = models.DateTimeField(default=timezone.now)
    opened_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    closed_at = models.DateTimeField(null=True, blank=True)
    closed_by = models.ForeignKey(
        Person, on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    discussion = models.TextField(blank=True)

    class Meta:
        ordering: ClassVar = ["panel", "number"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["panel", "number"], name="round_number_once"),
            models.UniqueConstraint(
                fields=["panel"], condition=Q(state="open"), name="round_open_once"
            ),
            models.CheckConstraint(
                name="round_closed_whole",
                condition=Q(state="open", closed_at__isnull=True, closed_by__isnull=True)
                | Q(state="closed", closed_at__isnull=False, closed_by__isnull=False),
            ),
        ]

    def __str__(self) -> str:
        return f"Round {self.number} of {self.panel}"


class Judgement(models.Model):
    """One judge's estimate in one round; never changed, a correction names what it replaces.

    ``subject`` and ``value``, by method. A criterion: {"share": "0.65"} (Angoff), or
    {"relevance", "difficulty"} (Ebel). A cell of Ebel's grid, key "essential-easy":
    {"share": "0.8"}. An attempt: {"rating": 1 to 5} (borderline regression), or
    {"group": "competent" | "not_yet"} (contrasting groups). The limits of the sense check, key
    "limits": {"least_cut", "most_cut", "least_fail", "most_fail"}, exact shares as text.
    """

    class Subject(models.TextChoices):
        CRITERION = "criterion", _l("Criterion")
        CELL = "cell", _l("Cell")
        ATTEMPT = "attempt", _l("Attempt")
        LIMITS = "limits", _l("Limits")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    round = models.ForeignKey(JudgingRound, on_delete=models.PROTECT, related_name="judgements")
    judge = models.ForeignKey(Judge, on_delete=models.PROTECT, related_name="judgements")
    subject_kind = models.CharField(max_length=20, choices=Subject.choices)
    subject_key = models.CharField(max_length=60)
    value = models.JSONField()
    note = models.TextField(blank=True)
    made_at = models.DateTimeField(default=timezone.now)
    replaces = models.OneToOneField(
        "self", on_delete=models.PROTECT, related_name="replaced_by", null=True, blank=True
    )

    class Meta:
        ordering: ClassVar = ["made_at", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["round", "judge", "subject_kind", "subject_key"],
                condition=Q(replaces__isnull=True),
                name="judgement_first_once",
            ),
            models.CheckConstraint(
                name="judgement_subject_known",
                condition=Q(subject_kind__in=["criterion", "cell", "attempt", "limits"]),
            ),
            models.CheckConstraint(
                name="judgement_replaces_another",
                condition=Q(replaces__isnull=True) | ~Q(replaces=F("id")),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.subject_key} by {self.judge}"


class Adoption(models.Model):
    """What the lead made of the panel's recommendation, before anybody is assessed under it.

    Shares are exact text. ``document`` is the whole panel: method, judges, judgements by round,
    recommendation and adoption; ``digest`` is over its RFC 8785 form and goes into the seal.
    """

    panel = models.OneToOneField(Panel, on_delete=models.PROTECT, related_name="adoption")
    recommended_cut = models.CharField(max_length=40)
    standard_error = models.CharField(max_length=40, blank=True)
    adopted_cut = models.CharField(max_length=40)
    band = models.CharField(max_length=40, blank=True)
    reason = models.TextField(blank=True)
    document = models.JSONField()
    digest = models.CharField(max_length=64)
    adopted_at = models.DateTimeField(default=timezone.now)
    adopted_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["adopted_at"]
        constraints: ClassVar = [
            models.CheckConstraint(name="adoption_digest_form", condition=Q(digest__regex=FORM)),
            models.CheckConstraint(
                name="adoption_differs_with_reason",
                condition=Q(adopted_cut=F("recommended_cut")) | ~Q(reason=""),
            ),
        ]

    def __str__(self) -> str:
        return f"Adoption of {self.panel}"
