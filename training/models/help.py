"""Which short guides a person has read."""

from typing import ClassVar

from django.db import models
from django.db.models import Q
from django.utils import timezone

from training.models.people import Person


class GuideRead(models.Model):
    """That a person put a screen's guide away; it is not shown again unless asked for."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="guides_read")
    guide = models.CharField(max_length=40)
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["person", "guide"], name="guide_read_once"),
            models.CheckConstraint(name="guide_named", condition=~Q(guide="")),
        ]

    def __str__(self) -> str:
        return f"{self.person} read {self.guide}"
