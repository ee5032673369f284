"""Keep the credential of a record, and its place in the status lists."""

from typing import ClassVar

import django.db.models.deletion
import django.utils.timezone
from django.db import migrations, models

from training.database import append_only

GUARD = """
CREATE FUNCTION bankermark_credential_guard() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF NEW.provider_id IS DISTINCT FROM (
        SELECT provider_id FROM certificates_record WHERE id = NEW.record_id
    ) THEN
        RAISE EXCEPTION 'a credential is made by the issuer of its record'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'credential_of_the_issuer';
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER certificates_credential_guard BEFORE INSERT ON certificates_credential
    FOR EACH ROW EXECUTE FUNCTION bankermark_credential_guard();
"""
UNGUARD = """
DROP TRIGGER certificates_credential_guard ON certificates_credential;
DROP FUNCTION bankermark_credential_guard();
"""


class Migration(migrations.Migration):
    """Add the table of credentials under the append-only trigger."""

    dependencies: ClassVar = [
        ("certificates", "0006_issue_jobs"),
        ("training", "0002_append_only"),
    ]

    operations: ClassVar = [
        migrations.CreateModel(
            name="Credential",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("list_number", models.PositiveIntegerField()),
                ("index", models.PositiveIntegerField()),
                ("document", models.JSONField()),
                ("made_at", models.DateTimeField(default=django.utils.timezone.now)),
                (
                    "provider",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="credentials",
                        to="training.organisation",
                    ),
                ),
                (
                    "record",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="credential",
                        to="certificates.record",
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(
                        fields=("provider", "list_number", "index"), name="credential_place_once"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("list_number__gte", 1)),
                        name="credential_list_from_one",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("index__gte", 0), ("index__lt", 131072)),
                        name="credential_index_in_list",
                    ),
                ],
            },
        ),
        append_only("certificates_credential"),
        migrations.RunSQL(GUARD, UNGUARD),
    ]
