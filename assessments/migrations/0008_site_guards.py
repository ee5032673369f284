"""What the database holds of devices on site: facts that only grow."""

from typing import ClassVar

from django.db import migrations

from training.database import append_only

ONLY_GROW = ("setaside", "setasideanswer", "photobytes", "photo", "deviceloss")


class Migration(migrations.Migration):
    """Append-only facts of packs, photographs, losses and what was set aside."""

    dependencies: ClassVar = [("assessments", "0007_site")]

    operations: ClassVar = [append_only(f"assessments_{table}") for table in ONLY_GROW]
