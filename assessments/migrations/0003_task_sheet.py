"""The sums of the task sheet."""

from typing import ClassVar

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies: ClassVar = [("assessments", "0002_guards")]

    operations: ClassVar = [
        migrations.AddField(
            model_name="practicaltask", name="sheet", field=models.JSONField(default=list)
        ),
    ]
