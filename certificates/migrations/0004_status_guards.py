"""What the database holds about the status of records: order, two people, no way back."""

from typing import ClassVar

from django.db import migrations

from training.database import append_only

CHANGE_GUARD = """
CREATE FUNCTION bankermark_status_guard() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    last_number integer;
    last_change text;
    last_at timestamptz;
BEGIN
    -- Whoever changes, corrects or replaces this record waits here for the others.
    PERFORM 1 FROM certificates_record WHERE id = NEW.record_id FOR NO KEY UPDATE;
    SELECT number, change, at INTO last_number, last_change, last_at
        FROM certificates_statuschange WHERE record_id = NEW.record_id
        ORDER BY number DESC LIMIT 1;
    IF NEW.number IS DISTINCT FROM coalesce(last_number, 0) + 1 THEN
        RAISE EXCEPTION 'the changes of a record are counted without gaps'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'status_number_follows';
    END IF;
    IF NOT (CASE NEW.change
        WHEN 'suspended' THEN coalesce(last_change, 'restored') = 'restored'
        WHEN 'restored' THEN coalesce(last_change, '') = 'suspended'
        ELSE coalesce(last_change, '') <> 'withdrawn' END) THEN
        RAISE EXCEPTION 'a record that is % cannot be %', coalesce(last_change, 'issued'), NEW.change
            USING ERRCODE = 'check_violation', CONSTRAINT = 'status_change_allowed';
    END IF;
    -- Clocks of several machines differ a little; five minutes is generous.
    IF NEW.at < now() - interval '5 minutes' OR NEW.at < last_at THEN
        RAISE EXCEPTION 'a status cannot be changed in the past'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'status_not_backdated';
    END IF;
    IF NEW.proposal_id IS NOT NULL AND NEW.record_id IS DISTINCT FROM (
        SELECT record_id FROM certificates_withdrawalproposal WHERE id = NEW.proposal_id
    ) THEN
        RAISE EXCEPTION 'the proposal is about another record'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'status_proposal_of_record';
    END IF;
    IF NEW.change = 'withdrawn' AND NOT EXISTS (
        SELECT 1 FROM certificates_withdrawalproposal p
        JOIN certificates_withdrawalanswer a ON a.proposal_id = p.id
        WHERE p.id = NEW.proposal_id AND a.confirmed
            AND p.by_id = NEW.by_id AND a.by_id = NEW.second_id
    ) THEN
        RAISE EXCEPTION 'a record is withdrawn by one who proposed it and another who confirmed it'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'status_withdrawal_confirmed';
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER certificates_status_guard BEFORE INSERT ON certificates_statuschange
    FOR EACH ROW EXECUTE FUNCTION bankermark_status_guard();
"""

PROPOSAL_GUARD = """
CREATE FUNCTION bankermark_proposal_guard() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    PERFORM 1 FROM certificates_record WHERE id = NEW.record_id FOR NO KEY UPDATE;
    IF EXISTS (
        SELECT 1 FROM certificates_withdrawalproposal p
        LEFT JOIN certificates_withdrawalanswer a ON a.proposal_id = p.id
        WHERE p.record_id = NEW.record_id AND a.id IS NULL
    ) THEN
        RAISE EXCEPTION 'another proposal about this record waits for its answer'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'proposal_one_at_a_time';
    END IF;
    IF EXISTS (
        SELECT 1 FROM certificates_statuschange
        WHERE record_id = NEW.record_id AND change = 'withdrawn'
    ) THEN
        RAISE EXCEPTION 'the record is withdrawn already'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'proposal_before_withdrawal';
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER certificates_proposal_guard BEFORE INSERT ON certificates_withdrawalproposal
    FOR EACH ROW EXECUTE FUNCTION bankermark_proposal_guard();
"""

ANSWER_GUARD = """
CREATE FUNCTION bankermark_answer_guard() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF NEW.by_id IS NOT DISTINCT FROM (
        SELECT by_id FROM certificates_withdrawalproposal WHERE id = NEW.proposal_id
    ) THEN
        RAISE EXCEPTION 'a proposal is answered by another person than made it'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'answer_by_another';
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER certificates_answer_guard BEFORE INSERT ON certificates_withdrawalanswer
    FOR EACH ROW EXECUTE FUNCTION bankermark_answer_guard();
"""

RECORD_GUARD = """
CREATE FUNCTION bankermark_record_guard() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF EXISTS (
        SELECT 1 FROM certificates_keycompromise
        WHERE provider_id = NEW.provider_id AND certificate_sha256 = NEW.certificate_sha256
    ) THEN
        RAISE EXCEPTION 'the key of this certificate was given up: nothing is issued with it'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'record_key_not_given_up';
    END IF;
    IF NEW.replaces_id IS NOT NULL THEN
        PERFORM 1 FROM certificates_record WHERE id = NEW.replaces_id FOR NO KEY UPDATE;
        -- A new decision may be followed by a new record; the old decision may not.
        IF EXISTS (
            SELECT 1 FROM certificates_statuschange c
            JOIN certificates_record r ON r.id = c.record_id
            WHERE c.record_id = NEW.replaces_id AND c.change = 'withdrawn'
                AND r.decision_id = NEW.decision_id
        ) THEN
            RAISE EXCEPTION 'a withdrawn record is not issued again from the same decision'
                USING ERRCODE = 'check_violation', CONSTRAINT = 'record_not_after_withdrawal';
        END IF;
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER certificates_record_guard BEFORE INSERT ON certificates_record
    FOR EACH ROW EXECUTE FUNCTION bankermark_record_guard();
"""

DOUBT_GUARD = """
CREATE FUNCTION bankermark_doubt_guard() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF NOT EXISTS (
        SELECT 1 FROM certificates_keycompromise k
        JOIN certificates_record r ON r.id = NEW.record_id
        WHERE k.id = NEW.compromise_id AND k.provider_id = r.provider_id
            AND k.certificate_sha256 = r.certificate_sha256
            AND (NEW.stamped_at IS NULL OR NEW.stamped_at >= k.doubtful_from)
    ) THEN
        RAISE EXCEPTION 'the compromise does not concern this record'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'doubt_of_that_key';
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER certificates_doubt_guard BEFORE INSERT ON certificates_doubt
    FOR EACH ROW EXECUTE FUNCTION bankermark_doubt_guard();
"""


def guard(sql: str, table: str, name: str) -> migrations.RunSQL:
    """Return the step that adds a guard, and takes it away when migrated back."""
    return migrations.RunSQL(
        sql,
        f"DROP TRIGGER certificates_{name}_guard ON {table};"
        f"DROP FUNCTION bankermark_{name}_guard();",
    )


class Migration(migrations.Migration):
    """Add the guards, and put the new facts under the append-only trigger."""

    dependencies: ClassVar = [("certificates", "0004_status"), ("training", "0002_append_only")]

    operations: ClassVar = [
        append_only("certificates_statuschange"),
        append_only("certificates_withdrawalproposal"),
        append_only("certificates_withdrawalanswer"),
        append_only("certificates_keycompromise"),
        append_only("certificates_doubt"),
        guard(CHANGE_GUARD, "certificates_statuschange", "status"),
        guard(PROPOSAL_GUARD, "certificates_withdrawalproposal", "proposal"),
        guard(ANSWER_GUARD, "certificates_withdrawalanswer", "answer"),
        guard(RECORD_GUARD, "certificates_record", "record"),
        guard(DOUBT_GUARD, "certificates_doubt", "doubt"),
    ]
