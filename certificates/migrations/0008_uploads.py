"""Count files sent to be checked."""

from typing import ClassVar

import django.utils.timezone
from django.db import migrations, models


class Migration(migrations.Migration):
    """Add the table of sent files."""

    dependencies: ClassVar = [("certificates", "0007_credentials")]

    operations: ClassVar = [
        migrations.CreateModel(
            name="SentFile",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("source", models.CharField(max_length=64)),
                ("at", models.DateTimeField(default=django.utils.timezone.now)),
            ],
            options={
                "indexes": [
                    models.Index(fields=["source", "at"], name="sent_file_by_source"),
                    models.Index(fields=["at"], name="sent_file_by_time"),
                ],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("source__regex", "^[0-9a-f]{64}$")),
                        name="sent_file_source_form",
                    )
                ],
            },
        ),
    ]
