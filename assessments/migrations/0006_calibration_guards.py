"""Agreed scores fixed once somebody scored; sign-off by the day on the site's clock."""

import importlib
from typing import ClassVar

from django.db import migrations

before = importlib.import_module("assessments.migrations.0005_panel_guards")

# The day of the signature is that of the site, as on the page and on the record.
SIGN_OFF_GUARD = """
CREATE OR REPLACE FUNCTION bankermark_sign_off_guard() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    about record;
    newest record;
BEGIN
    SELECT s.program_id AS program, place.time_zone AS zone INTO about
        FROM assessments_attempt a
        JOIN assessments_sealedstandard s ON s.id = a.standard_id
        JOIN training_enrolment e ON e.id = a.enrolment_id
        JOIN training_courserun r ON r.id = e.run_id
        JOIN training_site place ON place.id = r.site_id
        WHERE a.id = NEW.attempt_id;
    IF EXISTS (
        SELECT 1 FROM assessments_assessorrequirement WHERE program_id = about.program
    ) THEN
        SELECT granted, until INTO newest FROM assessments_authorisation
            WHERE program_id = about.program AND assessor_id = NEW.decided_by_id
            ORDER BY at DESC, id DESC LIMIT 1;
        IF newest.granted IS DISTINCT FROM true
            OR newest.until < (NEW.decided_at AT TIME ZONE about.zone)::date THEN
            RAISE EXCEPTION 'this person is not authorised to sign off under the program'
                USING ERRCODE = 'check_violation', CONSTRAINT = 'decision_by_authorised';
        END IF;
    END IF;
    RETURN NEW;
END $$;
"""

CALIBRATION_GUARD = """
CREATE OR REPLACE FUNCTION bankermark_calibration_guard() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    sitting record;
    earlier record;
BEGIN
    SELECT state, piece_id INTO sitting FROM assessments_calibrationsitting
        WHERE id = NEW.sitting_id FOR SHARE;
    IF sitting.state IS DISTINCT FROM 'open' THEN
        RAISE EXCEPTION 'the sitting is finished'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'calibration_sitting_open';
    END IF;
    IF NOT EXISTS (
        SELECT 1 FROM assessments_referencepiece
        WHERE id = sitting.piece_id AND agreed ? NEW.criterion
    ) THEN
        RAISE EXCEPTION 'the piece has no agreed score for this criterion'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'calibration_criterion_of_piece';
    END IF;
    IF NEW.replaces_id IS NOT NULL THEN
        SELECT sitting_id, criterion INTO earlier
            FROM assessments_calibrationscore WHERE id = NEW.replaces_id;
        IF (earlier.sitting_id, earlier.criterion)
            IS DISTINCT FROM (NEW.sitting_id, NEW.criterion) THEN
            RAISE EXCEPTION 'a correction replaces one of the same sitting and criterion'
                USING ERRCODE = 'check_violation', CONSTRAINT = 'calibration_replaces_same';
        END IF;
    END IF;
    RETURN NEW;
END $$;
"""

REFERENCE_GUARD = """
CREATE FUNCTION bankermark_reference_guard() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP = 'UPDATE' AND (NEW.standard_id, NEW.agreed, NEW.agreed_by)
        IS DISTINCT FROM (OLD.standard_id, OLD.agreed, OLD.agreed_by)
        AND EXISTS (SELECT 1 FROM assessments_calibrationsitting WHERE piece_id = OLD.id) THEN
        RAISE EXCEPTION 'agreed scores stay as they are once somebody began to score the piece'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'reference_fixed_once_scored';
    END IF;
    IF jsonb_typeof(NEW.agreed) <> 'object' OR NEW.agreed = '{}'::jsonb THEN
        RAISE EXCEPTION 'a reference piece has an agreed score'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'reference_agreed_given';
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER assessments_reference_guard BEFORE INSERT OR UPDATE
    ON assessments_referencepiece FOR EACH ROW EXECUTE FUNCTION bankermark_reference_guard();
"""

SITTING_GUARD = """
CREATE FUNCTION bankermark_sitting_guard() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    piece record;
BEGIN
    IF TG_OP = 'DELETE' THEN
        RAISE EXCEPTION 'a sitting stays on record'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'sitting_stays';
    END IF;
    IF TG_OP = 'INSERT' THEN
        -- The share lock makes a change of the agreed scores wait for this row, and see it.
        SELECT retired_at INTO piece FROM assessments_referencepiece
            WHERE id = NEW.piece_id FOR SHARE;
        IF piece.retired_at IS NOT NULL THEN
            RAISE EXCEPTION 'the reference piece is retired'
                USING ERRCODE = 'check_violation', CONSTRAINT = 'sitting_piece_in_use';
        END IF;
        RETURN NEW;
    END IF;
    IF OLD.state = 'finished' OR (NEW.piece_id, NEW.assessor_id, NEW.started_at)
        IS DISTINCT FROM (OLD.piece_id, OLD.assessor_id, OLD.started_at) THEN
        RAISE EXCEPTION 'a finished sitting stays as it is, and nobody takes over another one'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'sitting_finished_stays';
    END IF;
    IF NEW.state = 'finished' AND EXISTS (
        SELECT jsonb_object_keys(agreed) FROM assessments_referencepiece WHERE id = NEW.piece_id
        EXCEPT
        SELECT criterion FROM assessments_calibrationscore WHERE sitting_id = NEW.id
    ) THEN
        RAISE EXCEPTION 'every criterion of the piece is scored before the sitting is finished'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'sitting_scored_whole';
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER assessments_sitting_guard BEFORE INSERT OR UPDATE OR DELETE
    ON assessments_calibrationsitting FOR EACH ROW EXECUTE FUNCTION bankermark_sitting_guard();
"""


def function_only(sql: str) -> str:
    """Return the function of an earlier guard, to be put back in the place of a later one."""
    function = sql[: sql.index("CREATE TRIGGER")]
    return function.replace("CREATE FUNCTION", "CREATE OR REPLACE FUNCTION", 1)


class Migration(migrations.Migration):
    """Guards of reference pieces and sittings; the day of a sign-off."""

    dependencies: ClassVar = [("assessments", "0005_panel_guards")]

    operations: ClassVar = [
        migrations.RunSQL(SIGN_OFF_GUARD, function_only(before.SIGN_OFF_GUARD)),
        migrations.RunSQL(CALIBRATION_GUARD, function_only(before.CALIBRATION_GUARD)),
        before.guard(REFERENCE_GUARD, "referencepiece", "reference"),
        before.guard(SITTING_GUARD, "calibrationsitting", "sitting"),
    ]
