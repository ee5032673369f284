"""Of a thing to practise only the day on which it was done is set later."""

from typing import ClassVar

from django.db import migrations

from training.database import guard

PLAN_ITEM = """
CREATE FUNCTION bankermark_plan_item_guard() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    agreed bigint;
BEGIN
    IF TG_OP = 'DELETE' THEN
        RAISE EXCEPTION 'a thing to practise stays in its plan'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'plan_item_fixed';
    END IF;
    IF TG_OP = 'UPDATE' THEN
        IF to_jsonb(NEW) - 'done_on' - 'done_by_id'
            IS DISTINCT FROM to_jsonb(OLD) - 'done_on' - 'done_by_id' THEN
            RAISE EXCEPTION 'of a thing to practise only the day it was done comes later'
                USING ERRCODE = 'check_violation', CONSTRAINT = 'plan_item_fixed';
        END IF;
        RETURN NEW;
    END IF;
    -- The lock makes an agreement wait for this row, and this row for an agreement.
    SELECT agreed_by_id INTO agreed
        FROM assessments_practiceplan WHERE id = NEW.plan_id FOR SHARE;
    IF agreed IS NOT NULL THEN
        RAISE EXCEPTION 'nothing is added to a plan that is agreed'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'plan_item_before_agreement';
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER assessments_plan_item_guard BEFORE INSERT OR UPDATE OR DELETE
    ON assessments_planitem FOR EACH ROW EXECUTE FUNCTION bankermark_plan_item_guard();
"""


class Migration(migrations.Migration):
    """A guard of what a practice plan holds."""

    dependencies: ClassVar = [("assessments", "0017_review_scored")]

    operations: ClassVar = [
        guard(
            PLAN_ITEM,
            "assessments_planitem",
            "assessments_plan_item_guard",
            "bankermark_plan_item_guard",
        ),
    ]
