"""What the database holds of sheets keyed from paper: facts that only grow."""

from typing import ClassVar

from django.db import migrations

from training.database import append_only

ONLY_GROW = ("papersheet", "paperobservation")


class Migration(migrations.Migration):
    """Append-only sheets and what was read off them."""

    dependencies: ClassVar = [("assessments", "0009_paper")]

    operations: ClassVar = [append_only(f"assessments_{table}") for table in ONLY_GROW]
