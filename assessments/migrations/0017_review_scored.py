"""When a reviewer had been through every criterion; from then on nothing more is scored."""

from typing import ClassVar

from django.db import migrations, models
from django.db.models import Q

REVIEW_SCORE = """
CREATE OR REPLACE FUNCTION bankermark_review_score_guard() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    looked_at record;
    earlier record;
BEGIN
    -- The lock makes an answer wait for this row, and this row for an answer.
    SELECT state, reviewer_id, scored_at INTO looked_at
        FROM assessments_review WHERE id = NEW.review_id FOR SHARE;
    IF looked_at.state IS DISTINCT FROM 'given'
        OR looked_at.reviewer_id IS DISTINCT FROM NEW.by_id THEN
        RAISE EXCEPTION 'only the reviewer scores, and only before the answer'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'review_score_by_reviewer';
    END IF;
    IF looked_at.scored_at IS NOT NULL THEN
        RAISE EXCEPTION 'nothing is scored any more once the earlier scores were seen'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'review_scored_blind';
    END IF;
    IF NEW.replaces_id IS NOT NULL THEN
        SELECT review_id, by_id, criterion INTO earlier
            FROM assessments_reviewscore WHERE id = NEW.replaces_id;
        IF (earlier.review_id, earlier.by_id, earlier.criterion) IS DISTINCT FROM
            (NEW.review_id, NEW.by_id, NEW.criterion) THEN
            RAISE EXCEPTION 'a correction replaces one of the same criterion'
                USING ERRCODE = 'check_violation', CONSTRAINT = 'review_score_replaces_same';
        END IF;
    END IF;
    RETURN NEW;
END $$;
"""
REVIEW_SCORE_BEFORE = """
CREATE OR REPLACE FUNCTION bankermark_review_score_guard() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    looked_at record;
    earlier record;
BEGIN
    -- The lock makes an answer wait for this row, and this row for an answer.
    SELECT state, reviewer_id INTO looked_at
        FROM assessments_review WHERE id = NEW.review_id FOR SHARE;
    IF looked_at.state IS DISTINCT FROM 'given'
        OR looked_at.reviewer_id IS DISTINCT FROM NEW.by_id THEN
        RAISE EXCEPTION 'only the reviewer scores, and only before the answer'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'review_score_by_reviewer';
    END IF;
    IF NEW.replaces_id IS NOT NULL THEN
        SELECT review_id, by_id, criterion INTO earlier
            FROM assessments_reviewscore WHERE id = NEW.replaces_id;
        IF (earlier.review_id, earlier.by_id, earlier.criterion) IS DISTINCT FROM
            (NEW.review_id, NEW.by_id, NEW.criterion) THEN
            RAISE EXCEPTION 'a correction replaces one of the same criterion'
                USING ERRCODE = 'check_violation', CONSTRAINT = 'review_score_replaces_same';
        END IF;
    END IF;
    RETURN NEW;
END $$;
"""


class Migration(migrations.Migration):
    """Keep the second scores blind: the earlier ones are shown only after them."""

    dependencies: ClassVar = [("assessments", "0016_second_look_guards")]

    operations: ClassVar = [
        migrations.AddField(
            model_name="review",
            name="scored_at",
            field=models.DateTimeField(blank=True, null=True),
        ),
        migrations.AddConstraint(
            model_name="review",
            constraint=models.CheckConstraint(
                name="review_scored_by_reviewer",
                condition=Q(
                    ("scored_at__isnull", True), ("reviewer__isnull", False), _connector="OR"
                ),
            ),
        ),
        migrations.RunSQL(REVIEW_SCORE, REVIEW_SCORE_BEFORE),
    ]
