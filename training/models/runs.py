"""A program delivered once on a site, and who takes part."""

import uuid
from typing import ClassVar

from django.db import models
from django.db.models import F, Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _l

from training.models.people import Organisation, Person
from training.models.programs import Program


class Site(models.Model):
    """A building that a provider works on; its time zone dates what happens there."""

    provider = models.ForeignKey(Organisation, on_delete=models.PROTECT, related_name="sites")
    owner = models.ForeignKey(
        Organisation, on_delete=models.PROTECT, related_name="owned_sites", null=True, blank=True
    )
    name = models.CharField(max_length=200)
    address = models.CharField(max_length=300, blank=True)
    time_zone = models.CharField(max_length=60)

    class Meta:
        ordering: ClassVar = ["name"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["provider", "name"], name="site_name_once_a_provider"),
            models.CheckConstraint(name="site_name_given", condition=~Q(name="")),
        ]

    def __str__(self) -> str:
        return self.name


class CourseRun(models.Model):
    """One delivery of a program on a site."""

    class State(models.TextChoices):
        PLANNED = "planned", _l("Planned")
        OPEN = "open", _l("Open")
        CLOSED = "closed", _l("Closed")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    program = models.ForeignKey(Program, on_delete=models.PROTECT, related_name="runs")
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="runs")
    starts_on = models.DateField()
    ends_on = models.DateField()
    state = models.CharField(max_length=20, choices=State.choices, default=State.PLANNED)
    instructors = models.ManyToManyField(Person, related_name="runs_taught")
    capacity = models.PositiveIntegerField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["-starts_on", "id"]
        constraints: ClassVar = [
            models.CheckConstraint(
                name="run_state_known", condition=Q(state__in=["planned", "open", "closed"])
            ),
            models.CheckConstraint(
                name="run_ends_after_start", condition=Q(ends_on__gte=F("starts_on"))
            ),
            models.CheckConstraint(
                name="run_holds_somebody",
                condition=Q(capacity__isnull=True) | Q(capacity__gte=1),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.program.title}, {self.site}, {self.starts_on:%d %b %Y}"


class Enrolment(models.Model):
    """A person's place on a run, and who employed that person then."""

    class State(models.TextChoices):
        ENROLLED = "enrolled", _l("Enrolled")
        WAITING = "waiting", _l("On the waiting list")
        WITHDRAWN = "withdrawn", _l("Withdrawn")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    run = models.ForeignKey(CourseRun, on_delete=models.PROTECT, related_name="enrolments")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="enrolments")
    employer = models.ForeignKey(
        Organisation,
        on_delete=models.PROTECT,
        related_name="enrolments",
        null=True,
        blank=True,
    )
    state = models.CharField(max_length=20, choices=State.choices, default=State.ENROLLED)
    enrolled_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering: ClassVar = ["person__full_name", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["run", "person"], name="enrolment_once_a_run"),
            models.CheckConstraint(
                name="enrolment_state_known",
                condition=Q(state__in=["enrolled", "waiting", "withdrawn"]),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.person} on {self.run}"
