"""The calendar of a run: sessions, where they are held, who teaches and who was there."""

import uuid
from typing import ClassVar

from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Lower
from django.utils import timezone
from django.utils.translation import gettext_lazy as _l

from training.digests import FORM
from training.models.people import Person
from training.models.programs import Module
from training.models.runs import CourseRun, Site


class Place(models.Model):
    """A room or a scaffold bay of a site. ``grid`` says where on the elevation a bay is."""

    class Kind(models.TextChoices):
        ROOM = "room", _l("Room")
        BAY = "bay", _l("Scaffold bay")

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="places")
    kind = models.CharField(max_length=20, choices=Kind.choices)
    name = models.CharField(max_length=100)
    grid = models.CharField(max_length=40, blank=True)
    capacity = models.PositiveIntegerField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["kind", "name"]
        constraints: ClassVar = [
            models.UniqueConstraint("site", Lower("name"), name="place_name_once_a_site"),
            models.CheckConstraint(name="place_kind_known", condition=Q(kind__in=["room", "bay"])),
            models.CheckConstraint(name="place_name_given", condition=~Q(name="")),
            models.CheckConstraint(
                name="place_holds_somebody",
                condition=Q(capacity__isnull=True) | Q(capacity__gte=1),
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Session(models.Model):
    """One piece of teaching at a time and place; the module says what is taught.

    The database refuses two planned sessions at one place at once, and one instructor at two
    (``SessionInstructor``). ``sequence`` counts what was sent to calendars (RFC 5545).
    """

    class State(models.TextChoices):
        PLANNED = "planned", _l("Planned")
        CANCELLED = "cancelled", _l("Cancelled")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    run = models.ForeignKey(CourseRun, on_delete=models.PROTECT, related_name="sessions")
    module = models.ForeignKey(
        Module, on_delete=models.PROTECT, related_name="sessions", null=True, blank=True
    )
    title = models.CharField(max_length=200)
    place = models.ForeignKey(
        Place, on_delete=models.PROTECT, related_name="sessions", null=True, blank=True
    )
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    state = models.CharField(max_length=20, choices=State.choices, default=State.PLANNED)
    taught = models.TextField(blank=True)  # what was taught, when it differs from the plan
    sequence = models.PositiveIntegerField(default=0)

    class Meta:
        ordering: ClassVar = ["starts_at", "id"]
        constraints: ClassVar = [
            models.CheckConstraint(
                name="session_state_known", condition=Q(state__in=["planned", "cancelled"])
            ),
            models.CheckConstraint(name="session_title_given", condition=~Q(title="")),
            models.CheckConstraint(
                name="session_ends_after_start", condition=Q(ends_at__gt=F("starts_at"))
            ),
        ]

    def __str__(self) -> str:
        return self.title


class SessionInstructor(models.Model):
    """Who teaches a session. Times and state repeat the session's, by a trigger, so that the
    database itself can refuse an instructor who would be at two places at once."""

    session = models.ForeignKey(Session, on_delete=models.CASCADE, related_name="teaching")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="teaching")
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    planned = models.BooleanField(default=True)

    class Meta:
        ordering: ClassVar = ["person__full_name"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["session", "person"], name="session_instructor_once"),
        ]

    def __str__(self) -> str:
        return f"{self.person} teaches {self.session}"


class SignInCode(models.Model):
    """The secret behind a session's code on the wall; one holds at a time."""

    session = models.ForeignKey(Session, on_delete=models.CASCADE, related_name="codes")
    token = models.CharField(max_length=40, unique=True)
    made_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField(default=timezone.now)
    valid_until = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["-made_at"]
        constraints: ClassVar = [
            models.CheckConstraint(name="code_token_given", condition=~Q(token="")),
            models.CheckConstraint(
                name="code_ends_after_start", condition=Q(valid_until__gt=F("made_at"))
            ),
        ]

    def __str__(self) -> str:
        return f"Code of {self.session}"


class Attendance(models.Model):
    """One fact about somebody's presence: came, left, or was not there. Append-only.

    ``at`` is when it was so, as the device says; ``received_at`` when the server learned of it.
    A correction names the row it replaces. ``id`` is the device's, so that a row sent twice is
    stored once.
    """

    class Kind(models.TextChoices):
        CAME = "came", _l("Came")
        LEFT = "left", _l("Left")
        ABSENT = "absent", _l("Was not there")

    class How(models.TextChoices):
        OWN_CODE = "own_code", _l("Own phone, by the code on the wall")
        DEVICE = "device", _l("Instructor's device")
        DESK = "desk", _l("Entered at the desk")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    session = models.ForeignKey(Session, on_delete=models.PROTECT, related_name="attendance")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="attendance")
    kind = models.CharField(max_length=20, choices=Kind.choices)
    how = models.CharField(max_length=20, choices=How.choices)
    at = models.DateTimeField()
    received_at = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    note = models.CharField(max_length=300, blank=True)
    content_digest = models.CharField(max_length=64, blank=True)
    replaces = models.OneToOneField(
        "self", on_delete=models.PROTECT, related_name="replaced_by", null=True, blank=True
    )

    class Meta:
        ordering: ClassVar = ["at", "received_at"]
        constraints: ClassVar = [
            models.CheckConstraint(
                name="attendance_kind_known", condition=Q(kind__in=["came", "left", "absent"])
            ),
            models.CheckConstraint(
                name="attendance_how_known",
                condition=Q(how__in=["own_code", "device", "desk"]),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.person} {self.get_kind_display().lower()}"


class Question(models.Model):
    """What was asked while a run was taught, and what was answered."""

    run = models.ForeignKey(CourseRun, on_delete=models.PROTECT, related_name="questions")
    session = models.ForeignKey(
        Session, on_delete=models.PROTECT, related_name="questions", null=True, blank=True
    )
    asked_by = models.ForeignKey(
        Person, on_delete=models.PROTECT, related_name="questions", null=True, blank=True
    )
    text = models.TextField()
    asked_at = models.DateTimeField(default=timezone.now)
    written_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    answer = models.TextField(blank=True)
    answered_by = models.ForeignKey(
        Person, on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    answered_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["asked_at", "id"]
        constraints: ClassVar = [
            models.CheckConstraint(name="question_text_given", condition=~Q(text="")),
            models.CheckConstraint(
                name="question_answered_whole",
                condition=Q(answer="", answered_by__isnull=True, answered_at__isnull=True)
                | (~Q(answer="") & Q(answered_by__isnull=False, answered_at__isnull=False)),
            ),
        ]

    def __str__(self) -> str:
        return self.text[:60]


class PersonFeed(models.Model):
    """An address at which a calendar program reads a person's sessions; the secret is a digest."""

    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="session_feeds")
    token_sha256 = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField(default=timezone.now)
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["-made_at"]
        constraints: ClassVar = [
            models.CheckConstraint(
                name="person_feed_token_form", condition=Q(token_sha256__regex=FORM)
            ),
            models.UniqueConstraint(
                fields=["person"],
                condition=Q(revoked_at__isnull=True),
                name="person_feed_current_once",
            ),
        ]

    def __str__(self) -> str:
        return f"Sessions of {self.person}"
