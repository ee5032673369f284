"""Count how often a sign-in link is asked for from a network."""

import django.utils.timezone
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("training", "0008_trainee"),
    ]

    operations = [
        migrations.CreateModel(
            name="SignInAsked",
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
                "indexes": [models.Index(fields=["source", "at"], name="sign_in_asked_source")],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("source__regex", "^[0-9a-f]{64}$")),
                        name="sign_in_asked_source_form",
                    )
                ],
            },
        ),
    ]
