"""Let what of the site log is evidence only grow."""

from typing import ClassVar

from django.db import migrations

from training.database import append_only


class Migration(migrations.Migration):
    """Add the append-only trigger."""

    dependencies: ClassVar = [("assessments", "0013_course"), ("training", "0002_append_only")]

    operations: ClassVar = [append_only("assessments_loggedevidence")]
