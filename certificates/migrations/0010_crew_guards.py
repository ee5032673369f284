"""What the database holds about crews: facts that only grow, links that only die."""

from typing import ClassVar

from django.db import migrations

from training.database import append_only, guard

CONFIRMATION_GUARD = """
CREATE FUNCTION bankermark_confirmation_guard() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF NEW.attempt_id IS DISTINCT FROM (
        SELECT d.attempt_id FROM certificates_record r
        JOIN assessments_decision d ON d.id = r.decision_id WHERE r.id = NEW.record_id
    ) THEN
        RAISE EXCEPTION 'a confirmation names a record of its own attempt'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'confirmation_of_the_attempt';
    END IF;
    -- Clocks of several machines differ a little, and the day is that of the record's site.
    IF NEW.signed_at < now() - interval '5 minutes'
        OR NEW.signed_on NOT BETWEEN (NEW.signed_at AT TIME ZONE 'UTC')::date - 1
            AND (NEW.signed_at AT TIME ZONE 'UTC')::date + 1 THEN
        RAISE EXCEPTION 'a confirmation is not signed in the past'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'confirmation_not_backdated';
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER certificates_confirmation_guard BEFORE INSERT ON certificates_confirmation
    FOR EACH ROW EXECUTE FUNCTION bankermark_confirmation_guard();
"""

LINK_GUARD = """
CREATE FUNCTION bankermark_link_guard() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP = 'DELETE' OR OLD.revoked_at IS NOT NULL
        OR (to_jsonb(NEW) - 'revoked_at' - 'revoked_by_id')
            IS DISTINCT FROM (to_jsonb(OLD) - 'revoked_at' - 'revoked_by_id') THEN
        RAISE EXCEPTION 'a link can be revoked once, and nothing else'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'link_only_revoked';
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER certificates_link_guard BEFORE UPDATE OR DELETE ON certificates_sharelink
    FOR EACH ROW EXECUTE FUNCTION bankermark_link_guard();
"""

DAY_GUARD = """
CREATE FUNCTION bankermark_day_guard() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF NOT EXISTS (
        SELECT 1 FROM certificates_post p WHERE p.id = NEW.post_id
            AND p.project_id = NEW.project_id AND NEW.day BETWEEN p.starts_on AND p.ends_on
    ) THEN
        RAISE EXCEPTION 'the post is not one of this project on this day'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'day_place_at_a_post_of_the_day';
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER certificates_day_guard BEFORE INSERT OR UPDATE ON certificates_dayplace
    FOR EACH ROW EXECUTE FUNCTION bankermark_day_guard();
"""


class Migration(migrations.Migration):
    """Add the guards, and put the new facts under the append-only trigger."""

    dependencies: ClassVar = [("certificates", "0009_crew"), ("training", "0002_append_only")]

    operations: ClassVar = [
        append_only("certificates_confirmation"),
        append_only("certificates_retraction"),
        append_only("certificates_submittal"),
        append_only("certificates_submittedrecord"),
        append_only("certificates_linkopening"),
        guard(
            CONFIRMATION_GUARD,
            "certificates_confirmation",
            "certificates_confirmation_guard",
            "bankermark_confirmation_guard",
        ),
        guard(
            LINK_GUARD, "certificates_sharelink", "certificates_link_guard", "bankermark_link_guard"
        ),
        guard(DAY_GUARD, "certificates_dayplace", "certificates_day_guard", "bankermark_day_guard"),
    ]
