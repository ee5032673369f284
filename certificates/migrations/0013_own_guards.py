"""Looks at records only grow, a holder's link only ends, and what an erasure takes from both."""

from typing import ClassVar

from django.db import migrations

from training.database import append_only, guard

OWN_LINK = """
CREATE FUNCTION bankermark_own_link_guard() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF OLD.revoked_at IS NOT NULL OR (to_jsonb(NEW) - 'revoked_at')
        IS DISTINCT FROM (to_jsonb(OLD) - 'revoked_at') THEN
        RAISE EXCEPTION 'a link is only ended, once'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'own_link_only_ended';
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER certificates_own_link_guard BEFORE UPDATE ON certificates_ownlink
    FOR EACH ROW EXECUTE FUNCTION bankermark_own_link_guard();
"""

OWN_RECORD = """
CREATE FUNCTION bankermark_own_link_record_guard() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF (SELECT holder_id FROM certificates_ownlink WHERE id = NEW.ownlink_id)
        IS DISTINCT FROM (SELECT holder_id FROM certificates_record WHERE id = NEW.record_id) THEN
        RAISE EXCEPTION 'a link of one''s own shows the own records'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'own_link_own_records';
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER certificates_own_link_record_guard
    BEFORE INSERT OR UPDATE ON certificates_ownlink_records
    FOR EACH ROW EXECUTE FUNCTION bankermark_own_link_record_guard();
"""

# One more kind of row that an erasure may take something from; the others stay as they were.
ERASED = """
ALTER FUNCTION bankermark_erased(text, jsonb) RENAME TO bankermark_erased_of_records;
CREATE FUNCTION bankermark_erased(kind text, entry jsonb) RETURNS jsonb
LANGUAGE plpgsql STABLE AS $$
BEGIN
    IF kind = 'assessments_reviewphoto' THEN
        RETURN CASE WHEN (
            SELECT bankermark_alias(asked_by_id) FROM assessments_review
            WHERE id = (entry ->> 'review_id')::uuid
        ) IS NOT NULL THEN jsonb_build_object(
            'file', bankermark_gone(entry -> 'file'), 'caption', '') END;
    ELSIF kind = 'assessments_acknowledgement' THEN
        RETURN CASE WHEN bankermark_alias((entry ->> 'person_id')::bigint) IS NOT NULL
            THEN jsonb_build_object('comment', '') END;
    END IF;
    RETURN bankermark_erased_of_records(kind, entry);
END $$;
"""
NOT_ERASED = """
DROP FUNCTION bankermark_erased(text, jsonb);
ALTER FUNCTION bankermark_erased_of_records(text, jsonb) RENAME TO bankermark_erased;
"""


def erasable(table: str) -> migrations.RunSQL:
    """Return the step that lets only what ``bankermark_erased`` says leave the rows of a table."""
    again = """
        DROP TRIGGER {table}_append_only ON {table};
        CREATE TRIGGER {table}_append_only BEFORE UPDATE OR DELETE ON {table}
            FOR EACH ROW EXECUTE FUNCTION {function}();
        """
    return migrations.RunSQL(
        again.format(table=table, function="bankermark_only_erase"),
        again.format(table=table, function="bankermark_refuse_change"),
    )


class Migration(migrations.Migration):
    """Guards of links and looks; what an erasure takes from reviews and acknowledgements."""

    dependencies: ClassVar = [
        ("certificates", "0012_own_records"),
        ("assessments", "0016_second_look_guards"),
    ]

    operations: ClassVar = [
        append_only("certificates_recordlook"),
        guard(
            OWN_LINK,
            "certificates_ownlink",
            "certificates_own_link_guard",
            "bankermark_own_link_guard",
        ),
        guard(
            OWN_RECORD,
            "certificates_ownlink_records",
            "certificates_own_link_record_guard",
            "bankermark_own_link_record_guard",
        ),
        migrations.RunSQL(ERASED, NOT_ERASED),
        erasable("assessments_reviewphoto"),
        erasable("assessments_acknowledgement"),
    ]
