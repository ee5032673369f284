"""An issued record never changes."""

from typing import ClassVar

from django.db import migrations

from training.database import append_only


class Migration(migrations.Migration):
    """Put the records under the append-only trigger."""

    dependencies: ClassVar = [("certificates", "0001_initial"), ("training", "0002_append_only")]

    operations: ClassVar = [append_only("certificates_record")]
