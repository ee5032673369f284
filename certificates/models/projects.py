"""A project of a contractor, and the posts on it that need qualified masons."""

import uuid
from typing import ClassVar

from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Lower
from django.utils import timezone

from training.models import Organisation, Person, Program


class Project(models.Model):
    """Work at one place for one owner; ``time_zone`` dates what happens there.

    Days are inclusive. ``copied_from`` is the project whose posts it began with.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    contractor = models.ForeignKey(Organisation, on_delete=models.PROTECT, related_name="projects")
    owner = models.ForeignKey(
        Organisation,
        on_delete=models.PROTECT,
        related_name="owned_projects",
        null=True,
        blank=True,
    )
    name = models.CharField(max_length=200)
    place = models.CharField(max_length=300, blank=True)
    time_zone = models.CharField(max_length=60)
    starts_on = models.DateField()
    ends_on = models.DateField()
    copied_from = models.ForeignKey(
        "self", on_delete=models.PROTECT, related_name="copies", null=True, blank=True
    )
    created_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    created_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering: ClassVar = ["-starts_on", "name"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                "contractor", Lower("name"), name="project_name_once_a_contractor"
            ),
            models.CheckConstraint(name="project_name_given", condition=~Q(name="")),
            models.CheckConstraint(
                name="project_ends_after_start", condition=Q(ends_on__gte=F("starts_on"))
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Post(models.Model):
    """A job on a project: ``places`` masons at once, from ``starts_on`` to ``ends_on``.

    Each needs a record of ``program`` (that version or a later one of the same code) whose
    range covers ``conditions`` (a need document of engine/qualification). For each
    ``masons_per_lead`` places, or part of it, one lead comes on top, who needs a record of
    ``lead_program`` as well.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    project = models.ForeignKey(Project, on_delete=models.PROTECT, related_name="posts")
    position = models.PositiveIntegerField()
    code = models.CharField(max_length=20)
    title = models.CharField(max_length=200)
    work = models.TextField(blank=True)
    program = models.ForeignKey(Program, on_delete=models.PROTECT, related_name="posts")
    conditions = models.JSONField(default=dict)
    places = models.PositiveIntegerField()
    starts_on = models.DateField()
    ends_on = models.DateField()
    masons_per_lead = models.PositiveIntegerField(null=True, blank=True)
    lead_program = models.ForeignKey(
        Program, on_delete=models.PROTECT, related_name="lead_posts", null=True, blank=True
    )

    class Meta:
        ordering: ClassVar = ["project", "position"]
        constraints: ClassVar = [
            models.UniqueConstraint("project", Lower("code"), name="post_code_once_a_project"),
            models.CheckConstraint(name="post_code_given", condition=~Q(code="")),
            models.CheckConstraint(name="post_title_given", condition=~Q(title="")),
            models.CheckConstraint(
                name="post_places_known", condition=Q(places__gte=1, places__lte=500)
            ),
            models.CheckConstraint(
                name="post_ends_after_start", condition=Q(ends_on__gte=F("starts_on"))
            ),
            models.CheckConstraint(
                name="post_lead_whole",
                condition=Q(masons_per_lead__isnull=True, lead_program__isnull=True)
                | Q(masons_per_lead__gte=1, lead_program__isnull=False),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.title}"

    @property
    def leads(self) -> int:
        """How many leads come on top of the places."""
        return -(-self.places // self.masons_per_lead) if self.masons_per_lead else 0
