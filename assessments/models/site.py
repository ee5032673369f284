"""What devices take up to the scaffold and send down again, and what could not be taken in."""

import uuid
from typing import ClassVar

from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from assessments.models.attempts import Attempt, Observation
from training.digests import FORM
from training.models import CourseRun, Person


class Pack(models.Model):
    """A course run taken onto a device by an assessor; its token sends, and reads nothing."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    run = models.ForeignKey(CourseRun, on_delete=models.PROTECT, related_name="packs")
    assessor = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="packs")
    device = models.UUIDField()
    taken_at = models.DateTimeField(default=timezone.now)
    expires_at = models.DateTimeField()
    closed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["-taken_at", "id"]
        constraints: ClassVar = [
            models.CheckConstraint(
                name="pack_expires_after_taken", condition=Q(expires_at__gt=F("taken_at"))
            ),
        ]

    def __str__(self) -> str:
        return f"Pack of {self.run}, {self.assessor}"


class SendingCount(models.Model):
    """How often a pack sent one kind of thing within the window that began at ``began``.

    ``began`` is whole seconds since 1970, UTC. One row a pack and kind, counted anew in each
    window; kept so that any number of server processes count together.
    """

    pack = models.ForeignKey(Pack, on_delete=models.CASCADE, related_name="+")
    kind = models.CharField(max_length=10)
    began = models.PositiveBigIntegerField()
    number = models.PositiveIntegerField()

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["pack", "kind"], name="sending_count_once"),
        ]

    def __str__(self) -> str:
        return f"{self.number} {self.kind} of {self.pack}"


class SetAside(models.Model):
    """An event that was acknowledged but not taken in, whole, with the reason; append-only.

    ``epoch`` and ``seq`` are what the event says, where it says so in the right form.
    """

    event_id = models.CharField(max_length=80)
    pack = models.ForeignKey(
        Pack, on_delete=models.PROTECT, related_name="set_aside", null=True, blank=True
    )
    assessor = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    epoch = models.UUIDField(null=True, blank=True)
    seq = models.PositiveBigIntegerField(null=True, blank=True)
    body = models.JSONField()
    content_digest = models.CharField(max_length=64)
    reason = models.CharField(max_length=40)
    sentence = models.TextField()
    received_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering: ClassVar = ["received_at", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["event_id", "content_digest"], name="set_aside_event_once"
            ),
            models.CheckConstraint(
                name="set_aside_digest_form", condition=Q(content_digest__regex=FORM)
            ),
            models.CheckConstraint(name="set_aside_reason_given", condition=~Q(reason="")),
        ]

    def __str__(self) -> str:
        return f"{self.event_id}: {self.reason}"


class SetAsideAnswer(models.Model):
    """What a person made of an event that was kept aside; append-only."""

    set_aside = models.OneToOneField(SetAside, on_delete=models.PROTECT, related_name="answer")
    observation = models.OneToOneField(
        Observation, on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    note = models.TextField()
    at = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(name="set_aside_answer_has_note", condition=~Q(note="")),
        ]

    def __str__(self) -> str:
        return f"Answer to {self.set_aside}"


class PhotoBytes(models.Model):
    """The bytes of a photograph, by their SHA-256; the same bytes are kept once."""

    sha256 = models.CharField(max_length=64, primary_key=True)
    file = models.FileField(upload_to="photographs/%Y/")
    size = models.PositiveIntegerField()
    received_at = models.DateTimeField(default=timezone.now)

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(name="photo_bytes_digest_form", condition=Q(sha256__regex=FORM)),
        ]

    def __str__(self) -> str:
        return self.sha256


class Photo(models.Model):
    """That a photograph was taken of a criterion or hold point; its bytes may come later.

    ``claimed_at`` is when it was taken, as the device says. Append-only.
    """

    id = models.UUIDField(primary_key=True, editable=False)
    attempt = models.ForeignKey(Attempt, on_delete=models.PROTECT, related_name="photos")
    subject_kind = models.CharField(max_length=20, choices=Observation.Subject.choices)
    subject_key = models.CharField(max_length=20)
    assessor = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    device = models.UUIDField()
    epoch = models.UUIDField()
    seq = models.PositiveBigIntegerField()
    sha256 = models.CharField(max_length=64)
    size = models.PositiveIntegerField()
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    claimed_at = models.DateTimeField()
    device_zone = models.CharField(max_length=60)
    content_digest = models.CharField(max_length=64)
    received_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering: ClassVar = ["claimed_at", "seq"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["epoch", "seq"], name="photo_seq_once"),
            models.CheckConstraint(name="photo_digest_form", condition=Q(sha256__regex=FORM)),
            models.CheckConstraint(
                name="photo_subject_known",
                condition=Q(subject_kind__in=["criterion", "hold_point"]),
            ),
        ]

    def __str__(self) -> str:
        return f"Photograph of {self.subject_key}"


class DeviceLoss(models.Model):
    """A device that found less on it than it had stored; append-only."""

    pack = models.ForeignKey(
        Pack, on_delete=models.PROTECT, related_name="losses", null=True, blank=True
    )
    assessor = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    device = models.UUIDField()
    epoch = models.UUIDField()
    last_seq = models.PositiveBigIntegerField()
    found_seq = models.PositiveBigIntegerField()
    unsent = models.PositiveBigIntegerField()
    found_at = models.DateTimeField()
    received_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering: ClassVar = ["-received_at", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["epoch", "last_seq", "found_seq"], name="loss_told_once"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.last_seq - self.found_seq} lost on {self.device}"


class DeviceLossAnswer(models.Model):
    """What a person did about a loss; append-only."""

    loss = models.OneToOneField(DeviceLoss, on_delete=models.PROTECT, related_name="answer")
    note = models.TextField()
    at = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(name="device_loss_answer_has_note", condition=~Q(note="")),
        ]

    def __str__(self) -> str:
        return f"Answer to {self.loss}"
