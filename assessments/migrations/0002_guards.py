"""What the database holds on its own: append-only facts, and no attempt before the seal."""

from typing import ClassVar

from django.db import migrations

from training.database import append_only

ATTEMPT_GUARD = """
CREATE FUNCTION bankermark_attempt_guard() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    sealed timestamptz;
    standard_program uuid;
    run_program uuid;
BEGIN
    IF TG_OP = 'UPDATE' AND (
        NEW.standard_id, NEW.enrolment_id, NEW.started_at, NEW.number, NEW.started_by_id
    ) IS DISTINCT FROM (
        OLD.standard_id, OLD.enrolment_id, OLD.started_at, OLD.number, OLD.started_by_id
    ) THEN
        RAISE EXCEPTION 'of an attempt only the state can change'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'attempt_fixed_after_start';
    END IF;
    SELECT sealed_at, program_id INTO sealed, standard_program
        FROM assessments_sealedstandard WHERE id = NEW.standard_id;
    SELECT r.program_id INTO run_program FROM training_enrolment e
        JOIN training_courserun r ON r.id = e.run_id WHERE e.id = NEW.enrolment_id;
    IF sealed IS NULL OR sealed >= NEW.started_at THEN
        RAISE EXCEPTION 'an attempt starts only under a standard sealed before it'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'attempt_after_seal';
    END IF;
    IF standard_program IS DISTINCT FROM run_program THEN
        RAISE EXCEPTION 'the standard belongs to another program than the run'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'attempt_program_of_run';
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER assessments_attempt_guard BEFORE INSERT OR UPDATE ON assessments_attempt
    FOR EACH ROW EXECUTE FUNCTION bankermark_attempt_guard();
"""

SEAL_GUARD = """
CREATE FUNCTION bankermark_seal_guard() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    -- A seal dated back would let a rule be fixed after the fact. Clocks of several
    -- machines differ a little; five minutes is generous.
    IF NEW.sealed_at < now() - interval '5 minutes' THEN
        RAISE EXCEPTION 'a standard cannot be sealed in the past'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'standard_not_backdated';
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER assessments_seal_guard BEFORE INSERT ON assessments_sealedstandard
    FOR EACH ROW EXECUTE FUNCTION bankermark_seal_guard();
"""

OBSERVATION_GUARD = """
CREATE FUNCTION bankermark_observation_guard() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    attempt_state text;
    attempt_digest text;
    earlier record;
BEGIN
    -- The share lock makes a sign-off wait for this row, and this row for a sign-off.
    SELECT a.state, s.digest INTO attempt_state, attempt_digest FROM assessments_attempt a
        JOIN assessments_sealedstandard s ON s.id = a.standard_id
        WHERE a.id = NEW.attempt_id FOR SHARE OF a;
    IF attempt_state IS DISTINCT FROM 'open' THEN
        RAISE EXCEPTION 'the attempt is not open'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'observation_attempt_open';
    END IF;
    IF attempt_digest IS DISTINCT FROM NEW.standard_digest THEN
        RAISE EXCEPTION 'the observation was made under another standard'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'observation_standard_of_attempt';
    END IF;
    IF NEW.replaces_id IS NOT NULL THEN
        SELECT attempt_id, assessor_id, subject_kind, subject_key INTO earlier
            FROM assessments_observation WHERE id = NEW.replaces_id;
        IF (earlier.attempt_id, earlier.assessor_id, earlier.subject_kind, earlier.subject_key)
            IS DISTINCT FROM
            (NEW.attempt_id, NEW.assessor_id, NEW.subject_kind, NEW.subject_key) THEN
            RAISE EXCEPTION 'a correction replaces one of the same assessor and subject'
                USING ERRCODE = 'check_violation', CONSTRAINT = 'observation_replaces_same_subject';
        END IF;
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER assessments_observation_guard BEFORE INSERT ON assessments_observation
    FOR EACH ROW EXECUTE FUNCTION bankermark_observation_guard();
"""

DECISION_GUARD = """
CREATE FUNCTION bankermark_decision_guard() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF NEW.standard_digest IS DISTINCT FROM (
        SELECT s.digest FROM assessments_attempt a
        JOIN assessments_sealedstandard s ON s.id = a.standard_id WHERE a.id = NEW.attempt_id
    ) THEN
        RAISE EXCEPTION 'the decision names another standard than its attempt'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'decision_standard_of_attempt';
    END IF;
    IF NEW.replaces_id IS NOT NULL AND NEW.attempt_id IS DISTINCT FROM (
        SELECT attempt_id FROM assessments_decision WHERE id = NEW.replaces_id
    ) THEN
        RAISE EXCEPTION 'a decision replaces one of the same attempt'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'decision_replaces_same_attempt';
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER assessments_decision_guard BEFORE INSERT ON assessments_decision
    FOR EACH ROW EXECUTE FUNCTION bankermark_decision_guard();
"""


def guard(sql: str, table: str, trigger: str, function: str) -> migrations.RunSQL:
    """Return the step that adds a guard, and takes it away when migrated back."""
    return migrations.RunSQL(sql, f"DROP TRIGGER {trigger} ON {table}; DROP FUNCTION {function}();")


class Migration(migrations.Migration):
    """Guards of attempts, seals, observations and decisions; append-only facts."""

    dependencies: ClassVar = [("assessments", "0001_initial"), ("training", "0002_append_only")]

    operations: ClassVar = [
        guard(
            ATTEMPT_GUARD,
            "assessments_attempt",
            "assessments_attempt_guard",
            "bankermark_attempt_guard",
        ),
        guard(
            SEAL_GUARD,
            "assessments_sealedstandard",
            "assessments_seal_guard",
            "bankermark_seal_guard",
        ),
        guard(
            OBSERVATION_GUARD,
            "assessments_observation",
            "assessments_observation_guard",
            "bankermark_observation_guard",
        ),
        guard(
            DECISION_GUARD,
            "assessments_decision",
            "assessments_decision_guard",
            "bankermark_decision_guard",
        ),
        append_only("assessments_sealedstandard"),
        append_only("assessments_observation"),
        append_only("assessments_decision"),
    ]
