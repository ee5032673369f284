"""A record has two documents: the certificate, and the competency record beside it."""

from typing import ClassVar

from django.db import migrations, models


class Migration(migrations.Migration):
    """Add the second file; records issued before keep both documents in the first."""

    dependencies: ClassVar = [("certificates", "0004_status_guards")]

    operations: ClassVar = [
        migrations.AddField(
            model_name="record",
            name="competency",
            field=models.FileField(blank=True, default="", max_length=200, upload_to="records/%Y/"),
        ),
        migrations.AddField(
            model_name="record",
            name="competency_sha256",
            field=models.CharField(blank=True, max_length=64, null=True, unique=True),
        ),
        migrations.AddConstraint(
            model_name="record",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("competency", ""), ("competency_sha256__isnull", True)),
                    models.Q(
                        models.Q(("competency", ""), _negated=True),
                        ("competency_sha256__isnull", False),
                        ("competency_sha256__regex", "^[0-9a-f]{64}$"),
                    ),
                    _connector="OR",
                ),
                name="record_competency_with_digest",
            ),
        ),
    ]
