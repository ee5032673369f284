"""What happens to a record after its issue, and keys that were given up."""

from typing import ClassVar

import django.db.models.deletion
import django.utils.timezone
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    """Add changes of status, withdrawals by two, and compromised keys."""

    dependencies: ClassVar = [
        ("certificates", "0003_wrong_numbers"),
        ("training", "0002_append_only"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations: ClassVar = [
        migrations.CreateModel(
            name="KeyCompromise",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("certificate_sha256", models.CharField(max_length=64)),
                ("doubtful_from", models.DateTimeField()),
                ("reason", models.CharField(max_length=500)),
                ("at", models.DateTimeField(default=django.utils.timezone.now)),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "provider",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="key_compromises",
                        to="training.organisation",
                    ),
                ),
            ],
            options={
                "ordering": ["-at", "-id"],
            },
        ),
        migrations.CreateModel(
            name="Doubt",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("stamped_at", models.DateTimeField(blank=True, null=True)),
                (
                    "record",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="doubts",
                        to="certificates.record",
                    ),
                ),
                (
                    "compromise",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="doubts",
                        to="certificates.keycompromise",
                    ),
                ),
            ],
            options={
                "ordering": ["compromise", "record__serial"],
            },
        ),
        migrations.CreateModel(
            name="WithdrawalProposal",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("reason", models.CharField(max_length=500)),
                ("at", models.DateTimeField(default=django.utils.timezone.now)),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "record",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="proposals",
                        to="certificates.record",
                    ),
                ),
            ],
            options={
                "ordering": ["at", "id"],
            },
        ),
        migrations.CreateModel(
            name="WithdrawalAnswer",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("confirmed", models.BooleanField()),
                ("note", models.CharField(blank=True, max_length=500)),
                ("at", models.DateTimeField(default=django.utils.timezone.now)),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "proposal",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="answer",
                        to="certificates.withdrawalproposal",
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="StatusChange",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("number", models.PositiveIntegerField()),
                (
                    "change",
                    models.CharField(
                        choices=[
                            ("suspended", "Suspended"),
                            ("restored", "Restored"),
                            ("withdrawn", "Withdrawn"),
                        ],
                        max_length=10,
                    ),
                ),
                ("reason", models.CharField(max_length=500)),
                ("at", models.DateTimeField(default=django.utils.timezone.now)),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "record",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="status_changes",
                        to="certificates.record",
                    ),
                ),
                (
                    "second",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "proposal",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="changes",
                        to="certificates.withdrawalproposal",
                    ),
                ),
            ],
            options={
                "ordering": ["record", "number"],
            },
        ),
        migrations.AddConstraint(
            model_name="keycompromise",
            constraint=models.CheckConstraint(
                condition=models.Q(("certificate_sha256__regex", "^[0-9a-f]{64}$")),
                name="compromise_certificate_digest_form",
            ),
        ),
        migrations.AddConstraint(
            model_name="keycompromise",
            constraint=models.CheckConstraint(
                condition=models.Q(("reason__regex", "^.{10,}$")), name="compromise_reason_given"
            ),
        ),
        migrations.AddConstraint(
            model_name="keycompromise",
            constraint=models.CheckConstraint(
                condition=models.Q(("doubtful_from__lte", models.F("at"))),
                name="compromise_not_in_the_future",
            ),
        ),
        migrations.AddConstraint(
            model_name="doubt",
            constraint=models.UniqueConstraint(fields=("compromise", "record"), name="doubt_once"),
        ),
        migrations.AddConstraint(
            model_name="withdrawalproposal",
            constraint=models.CheckConstraint(
                condition=models.Q(("reason__regex", "^.{10,}$")), name="proposal_reason_given"
            ),
        ),
        migrations.AddConstraint(
            model_name="withdrawalanswer",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("confirmed", True), ("note__regex", "^.{10,}$"), _connector="OR"
                ),
                name="answer_declined_with_note",
            ),
        ),
        migrations.AddConstraint(
            model_name="statuschange",
            constraint=models.UniqueConstraint(
                fields=("record", "number"), name="status_number_once"
            ),
        ),
        migrations.AddConstraint(
            model_name="statuschange",
            constraint=models.CheckConstraint(
                condition=models.Q(("number__gte", 1)), name="status_number_from_one"
            ),
        ),
        migrations.AddConstraint(
            model_name="statuschange",
            constraint=models.CheckConstraint(
                condition=models.Q(("change__in", ["suspended", "restored", "withdrawn"])),
                name="status_change_known",
            ),
        ),
        migrations.AddConstraint(
            model_name="statuschange",
            constraint=models.CheckConstraint(
                condition=models.Q(("reason__regex", "^.{10,}$")), name="status_reason_given"
            ),
        ),
        migrations.AddConstraint(
            model_name="statuschange",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(
                        ("change", "withdrawn"),
                        ("proposal__isnull", False),
                        ("second__isnull", False),
                    ),
                    models.Q(
                        models.Q(("change", "withdrawn"), _negated=True), ("second__isnull", True)
                    ),
                    _connector="OR",
                ),
                name="status_withdrawn_by_two",
            ),
        ),
        migrations.AddConstraint(
            model_name="statuschange",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("second__isnull", True),
                    models.Q(("second", models.F("by")), _negated=True),
                    _connector="OR",
                ),
                name="status_second_is_another",
            ),
        ),
    ]
