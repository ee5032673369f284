"""Count looks for records that do not exist."""

from typing import ClassVar

import django.utils.timezone
from django.db import migrations, models


class Migration(migrations.Migration):
    """Add the table of wrong numbers."""

    dependencies: ClassVar = [("certificates", "0002_append_only")]

    operations: ClassVar = [
        migrations.CreateModel(
            name="WrongNumber",
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
                    models.Index(fields=["source", "at"], name="wrong_number_by_source"),
                    models.Index(fields=["at"], name="wrong_number_by_time"),
                ],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("source__regex", "^[0-9a-f]{64}$")),
                        name="wrong_number_source_form",
                    )
                ],
            },
        ),
    ]
