"""The rules of range and continuity as drafted."""

from django.db import models

from training.models import Program


class QualificationRules(models.Model):
    """What a record of a program will cover, and how it goes on counting, as drafted.

    ``document`` is ``about.qualification`` of the standard (engine/FORMATS.md). A program
    without a row states no range.
    """

    program = models.OneToOneField(
        Program, on_delete=models.CASCADE, related_name="qualification_rules"
    )
    document = models.JSONField()

    def __str__(self) -> str:
        return f"Rules of range and continuity of {self.program}"
