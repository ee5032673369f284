"""Records of a whole run, issued in the background."""

from typing import ClassVar

import django.db.models.deletion
import django.utils.timezone
from django.conf import settings
from django.db import migrations, models

from training.database import append_only

# An item moves on until its record is issued; what it was asked for never changes.
GUARD = """
CREATE FUNCTION certificates_issueitem_guard() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP <> 'UPDATE' OR OLD.state = 'issued' OR OLD.job_id <> NEW.job_id
            OR OLD.decision_id <> NEW.decision_id OR NEW.tries < OLD.tries THEN
        RAISE EXCEPTION 'an issued item stays as it is: % is refused', TG_OP
            USING ERRCODE = 'restrict_violation';
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER certificates_issueitem_guard BEFORE UPDATE OR DELETE ON certificates_issueitem
    FOR EACH ROW EXECUTE FUNCTION certificates_issueitem_guard();
CREATE TRIGGER certificates_issueitem_no_truncate BEFORE TRUNCATE ON certificates_issueitem
    FOR EACH STATEMENT EXECUTE FUNCTION bankermark_refuse_change();
"""
NO_GUARD = """
DROP TRIGGER certificates_issueitem_no_truncate ON certificates_issueitem;
DROP TRIGGER certificates_issueitem_guard ON certificates_issueitem;
DROP FUNCTION certificates_issueitem_guard();
"""


class Migration(migrations.Migration):
    """Add jobs and their items, and what the database keeps of them."""

    dependencies: ClassVar = [
        ("assessments", "0011_counts_and_loss_answers"),
        ("certificates", "0005_record_files"),
        ("training", "0002_append_only"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations: ClassVar = [
        migrations.CreateModel(
            name="IssueJob",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("asked_at", models.DateTimeField(default=django.utils.timezone.now)),
                (
                    "asked_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "run",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="issue_jobs",
                        to="training.courserun",
                    ),
                ),
            ],
            options={
                "ordering": ["-asked_at"],
            },
        ),
        migrations.CreateModel(
            name="IssueItem",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("waiting", "Waiting"),
                            ("working", "Being made"),
                            ("issued", "Issued"),
                            ("refused", "Not issued"),
                        ],
                        default="waiting",
                        max_length=20,
                    ),
                ),
                ("task", models.UUIDField(null=True)),
                ("tries", models.PositiveIntegerField(default=0)),
                ("sentence", models.TextField(blank=True)),
                ("changed_at", models.DateTimeField(default=django.utils.timezone.now)),
                (
                    "decision",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="issue_items",
                        to="assessments.decision",
                    ),
                ),
                (
                    "record",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="issue_items",
                        to="certificates.record",
                    ),
                ),
                (
                    "job",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="items",
                        to="certificates.issuejob",
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
                "indexes": [
                    models.Index(
                        models.F("changed_at"),
                        condition=models.Q(("state__in", ["waiting", "working"])),
                        name="issue_item_unfinished",
                    )
                ],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("job", "decision"), name="issue_item_once_a_job"
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("state__in", ["waiting", "working"])),
                        fields=("decision",),
                        name="issue_item_unfinished_once",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("state__in", ["waiting", "working", "issued", "refused"])
                        ),
                        name="issue_item_state_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("record__isnull", False), ("state", "issued")),
                            models.Q(
                                models.Q(("state", "issued"), _negated=True),
                                ("record__isnull", True),
                            ),
                            _connector="OR",
                        ),
                        name="issue_item_issued_has_record",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("state", "refused"), models.Q(("sentence", ""), _negated=True)
                            ),
                            models.Q(
                                models.Q(("state", "refused"), _negated=True), ("sentence", "")
                            ),
                            _connector="OR",
                        ),
                        name="issue_item_refused_has_sentence",
                    ),
                ],
            },
        ),
        append_only("certificates_issuejob"),
        migrations.RunSQL(GUARD, NO_GUARD),
    ]
