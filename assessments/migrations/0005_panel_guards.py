"""What the database holds of panels, calibration and evidence."""

from typing import ClassVar

from django.db import migrations

from training.database import append_only

JUDGEMENT_GUARD = """
CREATE FUNCTION bankermark_judgement_guard() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    round record;
    judge record;
    earlier record;
BEGIN
    -- The share lock makes closing the round wait for this row, and this row for the closing.
    SELECT panel_id, state INTO round FROM assessments_judginground
        WHERE id = NEW.round_id FOR SHARE;
    SELECT panel_id, state INTO judge FROM assessments_judge WHERE id = NEW.judge_id FOR SHARE;
    IF round.state IS DISTINCT FROM 'open' THEN
        RAISE EXCEPTION 'the round is not open'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'judgement_round_open';
    END IF;
    IF judge.state IS DISTINCT FROM 'seated' OR judge.panel_id IS DISTINCT FROM round.panel_id THEN
        RAISE EXCEPTION 'only a judge seated on the panel judges in its rounds'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'judgement_by_seated_judge';
    END IF;
    IF NEW.replaces_id IS NOT NULL THEN
        SELECT round_id, judge_id, subject_kind, subject_key INTO earlier
            FROM assessments_judgement WHERE id = NEW.replaces_id;
        IF (earlier.round_id, earlier.judge_id, earlier.subject_kind, earlier.subject_key)
            IS DISTINCT FROM
            (NEW.round_id, NEW.judge_id, NEW.subject_kind, NEW.subject_key) THEN
            RAISE EXCEPTION 'a correction replaces one of the same judge, round and subject'
                USING ERRCODE = 'check_violation', CONSTRAINT = 'judgement_replaces_same_subject';
        END IF;
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER assessments_judgement_guard BEFORE INSERT ON assessments_judgement
    FOR EACH ROW EXECUTE FUNCTION bankermark_judgement_guard();
"""

ROUND_GUARD = """
CREATE FUNCTION bankermark_round_guard() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP = 'DELETE' THEN
        RAISE EXCEPTION 'a round stays on record'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'round_stays';
    END IF;
    IF TG_OP = 'UPDATE' AND (
        (OLD.state = 'closed' AND NEW.state <> 'closed')
        OR (NEW.panel_id, NEW.number, NEW.opened_at, NEW.opened_by_id)
            IS DISTINCT FROM (OLD.panel_id, OLD.number, OLD.opened_at, OLD.opened_by_id)
    ) THEN
        RAISE EXCEPTION 'a closed round stays closed, and nothing else of a round changes'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'round_closed_stays';
    END IF;
    IF TG_OP = 'INSERT' AND 'judging' IS DISTINCT FROM (
        SELECT state FROM assessments_panel WHERE id = NEW.panel_id FOR SHARE
    ) THEN
        RAISE EXCEPTION 'the panel is not judging'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'round_panel_judging';
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER assessments_round_guard BEFORE INSERT OR UPDATE OR DELETE
    ON assessments_judginground FOR EACH ROW EXECUTE FUNCTION bankermark_round_guard();
"""

PANEL_GUARD = """
CREATE FUNCTION bankermark_panel_guard() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF OLD.state <> 'preparing' AND (
        NEW.program_id, NEW.number, NEW.method, NEW.statistic, NEW.just_meets, NEW.sense_check,
        NEW.judged_digest, NEW.made_at, NEW.made_by_id
    ) IS DISTINCT FROM (
        OLD.program_id, OLD.number, OLD.method, OLD.statistic, OLD.just_meets, OLD.sense_check,
        OLD.judged_digest, OLD.made_at, OLD.made_by_id
    ) THEN
        RAISE EXCEPTION 'once the judging began only the state of a panel changes'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'panel_fixed_once_judging';
    END IF;
    IF OLD.state IN ('adopted', 'abandoned') AND NEW.state <> OLD.state THEN
        RAISE EXCEPTION 'the panel has ended'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'panel_ended_stays';
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER assessments_panel_guard BEFORE UPDATE ON assessments_panel
    FOR EACH ROW EXECUTE FUNCTION bankermark_panel_guard();
"""

SOURCE_GUARD = """
CREATE FUNCTION bankermark_source_guard() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP <> 'DELETE' AND 'preparing' IS DISTINCT FROM (
        SELECT state FROM assessments_panel WHERE id = NEW.panel_id FOR SHARE
    ) OR TG_OP <> 'INSERT' AND 'preparing' IS DISTINCT FROM (
        SELECT state FROM assessments_panel WHERE id = OLD.panel_id FOR SHARE
    ) THEN
        RAISE EXCEPTION 'the runs judged are fixed before the first round'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'panel_sources_fixed';
    END IF;
    RETURN CASE WHEN TG_OP = 'DELETE' THEN OLD ELSE NEW END;
END $$;
CREATE TRIGGER assessments_source_guard BEFORE INSERT OR UPDATE OR DELETE
    ON assessments_panel_sources FOR EACH ROW EXECUTE FUNCTION bankermark_source_guard();
"""

# A standard that was fixed with the scores of a run is for later runs: it never judges the
# people whose scores made it.
ATTEMPT_SOURCE_GUARD = """
CREATE FUNCTION bankermark_attempt_source_guard() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF EXISTS (
        SELECT 1 FROM assessments_sealedstandard s
        JOIN assessments_panel_sources p
            ON p.panel_id::text = s.document -> 'about' -> 'panel' ->> 'id'
        JOIN training_enrolment e ON e.run_id = p.courserun_id
        WHERE s.id = NEW.standard_id AND e.id = NEW.enrolment_id
    ) THEN
        RAISE EXCEPTION 'this standard was made from the scores of this very run'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'attempt_not_of_source_run';
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER assessments_attempt_source_guard BEFORE INSERT ON assessments_attempt
    FOR EACH ROW EXECUTE FUNCTION bankermark_attempt_source_guard();
"""

ADOPTION_GUARD = """
CREATE FUNCTION bankermark_adoption_guard() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF 'judged' IS DISTINCT FROM (
        SELECT state FROM assessments_panel WHERE id = NEW.panel_id FOR SHARE
    ) THEN
        RAISE EXCEPTION 'a recommendation is adopted once the judging is closed'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'adoption_panel_judged';
    END IF;
    IF EXISTS (
        SELECT 1 FROM assessments_judge WHERE panel_id = NEW.panel_id
        AND person_id = NEW.adopted_by_id AND state = 'seated'
    ) THEN
        RAISE EXCEPTION 'who judged does not adopt'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'adoption_not_by_judge';
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER assessments_adoption_guard BEFORE INSERT ON assessments_adoption
    FOR EACH ROW EXECUTE FUNCTION bankermark_adoption_guard();
"""

SIGN_OFF_GUARD = """
CREATE FUNCTION bankermark_sign_off_guard() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    program uuid;
    newest record;
BEGIN
    SELECT s.program_id INTO program FROM assessments_attempt a
        JOIN assessments_sealedstandard s ON s.id = a.standard_id WHERE a.id = NEW.attempt_id;
    IF EXISTS (SELECT 1 FROM assessments_assessorrequirement WHERE program_id = program) THEN
        SELECT granted, until INTO newest FROM assessments_authorisation
            WHERE program_id = program AND assessor_id = NEW.decided_by_id
            ORDER BY at DESC, id DESC LIMIT 1;
        IF newest.granted IS DISTINCT FROM true OR newest.until < NEW.decided_at::date THEN
            RAISE EXCEPTION 'this person is not authorised to sign off under the program'
                USING ERRCODE = 'check_violation', CONSTRAINT = 'decision_by_authorised';
        END IF;
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER assessments_sign_off_guard BEFORE INSERT ON assessments_decision
    FOR EACH ROW EXECUTE FUNCTION bankermark_sign_off_guard();
"""

CALIBRATION_GUARD = """
CREATE FUNCTION bankermark_calibration_guard() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF 'open' IS DISTINCT FROM (
        SELECT state FROM assessments_calibrationsitting WHERE id = NEW.sitting_id FOR SHARE
    ) THEN
        RAISE EXCEPTION 'the sitting is finished'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'calibration_sitting_open';
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER assessments_calibration_guard BEFORE INSERT ON assessments_calibrationscore
    FOR EACH ROW EXECUTE FUNCTION bankermark_calibration_guard();
"""

GUARDS = (
    (JUDGEMENT_GUARD, "judgement", "judgement"),
    (ROUND_GUARD, "judginground", "round"),
    (PANEL_GUARD, "panel", "panel"),
    (SOURCE_GUARD, "panel_sources", "source"),
    (ATTEMPT_SOURCE_GUARD, "attempt", "attempt_source"),
    (ADOPTION_GUARD, "adoption", "adoption"),
    (SIGN_OFF_GUARD, "decision", "sign_off"),
    (CALIBRATION_GUARD, "calibrationscore", "calibration"),
)
ONLY_GROW = (
    "judgement",
    "adoption",
    "calibrationscore",
    "assessorrequirement",
    "authorisation",
    "evidencereport",
)


def guard(sql: str, table: str, name: str) -> migrations.RunSQL:
    """Return the step that adds a guard, and takes it away when migrated back."""
    return migrations.RunSQL(
        sql,
        f"DROP TRIGGER assessments_{name}_guard ON assessments_{table}; "
        f"DROP FUNCTION bankermark_{name}_guard();",
    )


class Migration(migrations.Migration):
    """Guards of panels, calibration and evidence; append-only facts."""

    dependencies: ClassVar = [("assessments", "0004_panels_calibration_evidence")]

    operations: ClassVar = [
        *(guard(sql, table, name) for sql, table, name in GUARDS),
        *(append_only(f"assessments_{table}") for table in ONLY_GROW),
    ]
