"""One trainee's go at the task, the scored facts, and the result."""

import uuid
from typing import ClassVar

from django.db import models
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _l

from assessments.models.standard import SealedStandard
from training.digests import FORM
from training.models import Enrolment, Person


class Attempt(models.Model):
    """A go at the task under one sealed standard; at most one open for an enrolment.

    The database refuses one whose standard was not sealed before it starts, or whose
    standard belongs to another program than the run's.
    """

    class State(models.TextChoices):
        OPEN = "open", _l("Open")
        DECIDED = "decided", _l("Decided")
        VOID = "void", _l("Void")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    enrolment = models.ForeignKey(Enrolment, on_delete=models.PROTECT, related_name="attempts")
    standard = models.ForeignKey(SealedStandard, on_delete=models.PROTECT, related_name="attempts")
    number = models.PositiveIntegerField()
    state = models.CharField(max_length=20, choices=State.choices, default=State.OPEN)
    started_at = models.DateTimeField(default=timezone.now)
    started_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["enrolment", "number"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["enrolment", "number"], name="attempt_number_once"),
            models.UniqueConstraint(
                fields=["enrolment"], condition=Q(state="open"), name="attempt_open_once"
            ),
            models.CheckConstraint(
                name="attempt_state_known", condition=Q(state__in=["open", "decided", "void"])
            ),
            models.CheckConstraint(name="attempt_number_from_one", condition=Q(number__gte=1)),
        ]

    def __str__(self) -> str:
        return f"Attempt {self.number} of {self.enrolment}"


class Observation(models.Model):
    """One scored fact, made by a device and never changed; a correction names what it replaces.

    The first observation of an assessor on a subject replaces nothing, and only one may
    replace a given one: so each assessor has at most one current observation on a subject.
    ``value`` is as in engine/FORMATS.md. Device time is what the device claimed.
    """

    class Subject(models.TextChoices):
        CRITERION = "criterion", _l("Criterion")
        HOLD_POINT = "hold_point", _l("Hold point")

    id = models.UUIDField(primary_key=True, editable=False)
    attempt = models.ForeignKey(Attempt, on_delete=models.PROTECT, related_name="observations")
    subject_kind = models.CharField(max_length=20, choices=Subject.choices)
    subject_key = models.CharField(max_length=20)
    assessor = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    device = models.UUIDField()
    epoch = models.UUIDField()
    seq = models.PositiveBigIntegerField()
    value = models.JSONField()
    note = models.TextField(blank=True)
    device_time = models.DateTimeField()
    device_zone = models.CharField(max_length=60)
    received_at = models.DateTimeField(default=timezone.now)
    standard_digest = models.CharField(max_length=64)
    schema_version = models.PositiveIntegerField(default=1)
    content_digest = models.CharField(max_length=64)
    replaces = models.OneToOneField(
        "self", on_delete=models.PROTECT, related_name="replaced_by", null=True, blank=True
    )
    # Of a stage that was not made again: the observation of the earlier attempt that stands.
    carried_from = models.ForeignKey(
        "self", on_delete=models.PROTECT, related_name="carried_to", null=True, blank=True
    )

    class Meta:
        ordering: ClassVar = ["received_at", "seq"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["epoch", "seq"], name="observation_seq_once"),
            models.UniqueConstraint(
                fields=["attempt", "assessor", "subject_kind", "subject_key"],
                condition=Q(replaces__isnull=True),
                name="observation_first_once",
            ),
            models.CheckConstraint(
                name="observation_subject_known",
                condition=Q(subject_kind__in=["criterion", "hold_point"]),
            ),
            models.CheckConstraint(
                name="observation_standard_digest_form",
                condition=Q(standard_digest__regex=FORM),
            ),
            models.CheckConstraint(
                name="observation_content_digest_form",
                condition=Q(content_digest__regex=FORM),
            ),
            models.CheckConstraint(
                name="observation_replaces_another",
                condition=Q(replaces__isnull=True) | ~Q(replaces=models.F("id")),
            ),
            models.CheckConstraint(
                name="observation_carried_replaces_nothing",
                condition=Q(carried_from__isnull=True) | Q(replaces__isnull=True),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.subject_key} by {self.assessor}"


class Decision(models.Model):
    """What the engine made of the observations under the standard, signed off by a person.

    ``document`` and ``observations`` are whole, so that the decision can be made again
    from this row and the standard alone. At most one decision of an attempt is current.
    """

    class Result(models.TextChoices):
        MET = "met", _l("Met")
        NOT_YET_MET = "not_yet_met", _l("Not yet met")
        INCOMPLETE = "incomplete", _l("Incomplete")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    attempt = models.ForeignKey(Attempt, on_delete=models.PROTECT, related_name="decisions")
    standard_digest = models.CharField(max_length=64)
    result = models.CharField(max_length=20, choices=Result.choices)
    document = models.JSONField()
    observations = models.JSONField()
    engine_version = models.CharField(max_length=20)
    note = models.TextField(blank=True)
    decided_at = models.DateTimeField(default=timezone.now)
    decided_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    replaces = models.OneToOneField(
        "self", on_delete=models.PROTECT, related_name="replaced_by", null=True, blank=True
    )

    class Meta:
        ordering: ClassVar = ["-decided_at"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["attempt"],
                condition=Q(replaces__isnull=True),
                name="decision_first_once",
            ),
            models.CheckConstraint(
                name="decision_result_known",
                condition=Q(result__in=["met", "not_yet_met", "incomplete"]),
            ),
            models.CheckConstraint(
                name="decision_digest_form", condition=Q(standard_digest__regex=FORM)
            ),
            models.CheckConstraint(
                name="decision_incomplete_has_note",
                condition=~Q(result="incomplete") | ~Q(note=""),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_result_display()}: {self.attempt}"
