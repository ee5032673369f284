"""Who is on the scaffold on a day, at which post."""

import secrets
from typing import ClassVar

from django.db import models
from django.db.models import Q
from django.utils import timezone

from certificates.models.projects import Post, Project
from training.models import Person

TOKEN_BYTES = 18  # 24 letters: short enough for a small code on a badge, too long to guess


def new_token() -> str:
    """Return the secret in a badge's code."""
    return secrets.token_urlsafe(TOKEN_BYTES)


class DayPlace(models.Model):
    """A person at a post on a day; nobody is at two posts on one day.

    ``token`` is what the badge's code leads to; it shows that person, that day and that post.
    """

    project = models.ForeignKey(Project, on_delete=models.PROTECT, related_name="day_places")
    day = models.DateField()
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="day_places")
    post = models.ForeignKey(Post, on_delete=models.PROTECT, related_name="day_places")
    leads = models.BooleanField(default=False)
    token = models.CharField(max_length=40, unique=True, default=new_token)
    placed_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    placed_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering: ClassVar = ["day", "post__position", "-leads", "person__full_name"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["person", "day"], name="day_place_once_a_day"),
            models.CheckConstraint(name="day_token_given", condition=~Q(token="")),
        ]

    def __str__(self) -> str:
        return f"{self.day}: {self.person} at {self.post.code}"
