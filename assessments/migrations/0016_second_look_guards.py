"""What the database holds of retakes and reviews: who looks again, and what stands."""

from typing import ClassVar

from django.db import migrations

from training.database import append_only, guard

RETAKE = """
CREATE FUNCTION bankermark_retake_guard() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    now_made record;
    before record;
BEGIN
    SELECT enrolment_id, number, standard_id INTO now_made
        FROM assessments_attempt WHERE id = NEW.attempt_id;
    SELECT enrolment_id, number, standard_id INTO before
        FROM assessments_attempt WHERE id = NEW.of_id;
    IF now_made.enrolment_id IS DISTINCT FROM before.enrolment_id
        OR now_made.number <= before.number THEN
        RAISE EXCEPTION 'a retake follows an attempt of the same enrolment'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'retake_of_same_enrolment';
    END IF;
    IF NEW.of_id IS DISTINCT FROM (
        SELECT attempt_id FROM assessments_decision WHERE id = NEW.decision_id
    ) THEN
        RAISE EXCEPTION 'the decision belongs to another attempt'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'retake_decision_of_attempt';
    END IF;
    IF NEW.carried <> '[]'::jsonb AND now_made.standard_id IS DISTINCT FROM before.standard_id THEN
        RAISE EXCEPTION 'nothing is carried over from another standard'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'retake_carries_under_same_standard';
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER assessments_retake_guard BEFORE INSERT ON assessments_retake
    FOR EACH ROW EXECUTE FUNCTION bankermark_retake_guard();
"""

CARRIED = """
CREATE FUNCTION bankermark_carried_guard() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    again record;
    stood record;
    stage text;
    stands boolean;
BEGIN
    SELECT r.of_id, r.carried, s.document INTO again
        FROM assessments_retake r JOIN assessments_attempt a ON a.id = r.attempt_id
        JOIN assessments_sealedstandard s ON s.id = a.standard_id
        WHERE r.attempt_id = NEW.attempt_id;
    IF NOT FOUND THEN
        IF NEW.carried_from_id IS NOT NULL THEN
            RAISE EXCEPTION 'only a retake carries observations over'
                USING ERRCODE = 'check_violation', CONSTRAINT = 'observation_carried_by_retake';
        END IF;
        RETURN NEW;
    END IF;
    IF NEW.subject_kind = 'hold_point' THEN
        stage := NEW.subject_key;
    ELSE
        SELECT each ->> 'stage' INTO stage
            FROM jsonb_array_elements(again.document -> 'criteria') each
            WHERE each ->> 'key' = NEW.subject_key;
    END IF;
    stands := again.carried ? coalesce(stage, '');
    IF NEW.carried_from_id IS NULL THEN
        IF stands THEN
            RAISE EXCEPTION 'this stage stands from the attempt before'
                USING ERRCODE = 'check_violation', CONSTRAINT = 'observation_stage_stands';
        END IF;
        RETURN NEW;
    END IF;
    SELECT attempt_id, assessor_id, subject_kind, subject_key, value INTO stood
        FROM assessments_observation WHERE id = NEW.carried_from_id;
    IF NOT stands OR (
        stood.attempt_id, stood.assessor_id, stood.subject_kind, stood.subject_key, stood.value
    ) IS DISTINCT FROM (
        again.of_id, NEW.assessor_id, NEW.subject_kind, NEW.subject_key, NEW.value
    ) THEN
        RAISE EXCEPTION 'what is carried over is what was observed, of a stage that stands'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'observation_carried_as_observed';
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER assessments_carried_guard BEFORE INSERT ON assessments_observation
    FOR EACH ROW EXECUTE FUNCTION bankermark_carried_guard();
"""

REVIEW = """
CREATE FUNCTION bankermark_review_guard() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    trainee bigint;
BEGIN
    SELECT e.person_id INTO trainee FROM assessments_attempt a
        JOIN training_enrolment e ON e.id = a.enrolment_id WHERE a.id = NEW.attempt_id;
    IF TG_OP = 'INSERT' THEN
        IF NEW.asked_by_id IS DISTINCT FROM trainee THEN
            RAISE EXCEPTION 'a review is asked for by whom the decision is about'
                USING ERRCODE = 'check_violation', CONSTRAINT = 'review_asked_by_trainee';
        END IF;
        IF NEW.attempt_id IS DISTINCT FROM (
            SELECT attempt_id FROM assessments_decision WHERE id = NEW.decision_id
        ) THEN
            RAISE EXCEPTION 'the decision belongs to another attempt'
                USING ERRCODE = 'check_violation', CONSTRAINT = 'review_decision_of_attempt';
        END IF;
        IF EXISTS (SELECT 1 FROM assessments_decision WHERE replaces_id = NEW.decision_id) THEN
            RAISE EXCEPTION 'another decision counts by now'
                USING ERRCODE = 'check_violation', CONSTRAINT = 'review_of_current_decision';
        END IF;
        IF NEW.state <> 'asked' THEN
            RAISE EXCEPTION 'a review begins by being asked for'
                USING ERRCODE = 'check_violation', CONSTRAINT = 'review_begins_asked';
        END IF;
    ELSE
        IF (NEW.attempt_id, NEW.decision_id, NEW.asked_by_id, NEW.asked_at, NEW.answer_by)
            IS DISTINCT FROM
            (OLD.attempt_id, OLD.decision_id, OLD.asked_by_id, OLD.asked_at, OLD.answer_by)
            OR (NEW.reason IS DISTINCT FROM OLD.reason
                AND bankermark_alias(OLD.asked_by_id) IS NULL)
            OR (OLD.state IN ('answered', 'taken_back')
                AND to_jsonb(NEW) - 'reason' IS DISTINCT FROM to_jsonb(OLD) - 'reason') THEN
            RAISE EXCEPTION 'of a review only its course can change, and nothing once it is over'
                USING ERRCODE = 'check_violation', CONSTRAINT = 'review_fixed';
        END IF;
        IF OLD.state <> NEW.state AND NOT (
            (OLD.state = 'asked' AND NEW.state IN ('given', 'taken_back'))
            OR (OLD.state = 'given' AND NEW.state IN ('asked', 'answered', 'taken_back'))
        ) THEN
            RAISE EXCEPTION 'a review does not go from % to %', OLD.state, NEW.state
                USING ERRCODE = 'check_violation', CONSTRAINT = 'review_course';
        END IF;
    END IF;
    IF NEW.reviewer_id IS NOT NULL AND (
        NEW.reviewer_id = trainee
        OR EXISTS (SELECT 1 FROM assessments_observation
            WHERE attempt_id = NEW.attempt_id AND assessor_id = NEW.reviewer_id)
        OR EXISTS (SELECT 1 FROM assessments_decision
            WHERE attempt_id = NEW.attempt_id AND decided_by_id = NEW.reviewer_id
                AND id IS DISTINCT FROM NEW.result_id)
    ) THEN
        RAISE EXCEPTION 'whoever scored or decided does not review'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'review_independent';
    END IF;
    IF NEW.result_id IS NOT NULL AND NOT EXISTS (
        SELECT 1 FROM assessments_decision WHERE id = NEW.result_id
            AND replaces_id = NEW.decision_id AND decided_by_id = NEW.reviewer_id
    ) THEN
        RAISE EXCEPTION 'the outcome is the reviewer''s decision, in place of the one reviewed'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'review_result_of_reviewer';
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER assessments_review_guard BEFORE INSERT OR UPDATE ON assessments_review
    FOR EACH ROW EXECUTE FUNCTION bankermark_review_guard();

CREATE FUNCTION bankermark_review_kept() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'a review stays' USING ERRCODE = 'restrict_violation';
END $$;
CREATE TRIGGER assessments_review_kept BEFORE DELETE ON assessments_review
    FOR EACH ROW EXECUTE FUNCTION bankermark_review_kept();
"""
NO_REVIEW = """
DROP TRIGGER assessments_review_kept ON assessments_review;
DROP FUNCTION bankermark_review_kept();
DROP TRIGGER assessments_review_guard ON assessments_review;
DROP FUNCTION bankermark_review_guard();
"""

REVIEW_SCORE = """
CREATE FUNCTION bankermark_review_score_guard() RETURNS trigger LANGUAGE plpgsql AS $$
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
CREATE TRIGGER assessments_review_score_guard BEFORE INSERT ON assessments_reviewscore
    FOR EACH ROW EXECUTE FUNCTION bankermark_review_score_guard();
"""

ACKNOWLEDGEMENT = """
CREATE FUNCTION bankermark_acknowledgement_guard() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF NEW.person_id IS DISTINCT FROM (
        SELECT e.person_id FROM assessments_decision d
        JOIN assessments_attempt a ON a.id = d.attempt_id
        JOIN training_enrolment e ON e.id = a.enrolment_id WHERE d.id = NEW.decision_id
    ) THEN
        RAISE EXCEPTION 'a decision is acknowledged by whom it is about'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'acknowledgement_by_trainee';
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER assessments_acknowledgement_guard BEFORE INSERT ON assessments_acknowledgement
    FOR EACH ROW EXECUTE FUNCTION bankermark_acknowledgement_guard();
"""

PLAN = """
CREATE FUNCTION bankermark_plan_guard() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    trainee bigint;
BEGIN
    SELECT e.person_id INTO trainee FROM assessments_attempt a
        JOIN training_enrolment e ON e.id = a.enrolment_id WHERE a.id = NEW.attempt_id;
    IF TG_OP = 'UPDATE' AND (
        (NEW.attempt_id, NEW.replaces_id, NEW.note, NEW.proposed_by_id, NEW.proposed_at)
        IS DISTINCT FROM
        (OLD.attempt_id, OLD.replaces_id, OLD.note, OLD.proposed_by_id, OLD.proposed_at)
        OR OLD.agreed_by_id IS NOT NULL
    ) THEN
        RAISE EXCEPTION 'of a plan only the agreement comes later, once'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'plan_fixed';
    END IF;
    IF NEW.replaces_id IS NOT NULL AND NEW.attempt_id IS DISTINCT FROM (
        SELECT attempt_id FROM assessments_practiceplan WHERE id = NEW.replaces_id
    ) THEN
        RAISE EXCEPTION 'a plan replaces one of the same attempt'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'plan_replaces_same_attempt';
    END IF;
    -- Of the two who agree, one is the trainee.
    IF NEW.agreed_by_id IS NOT NULL
        AND (NEW.proposed_by_id = trainee) = (NEW.agreed_by_id = trainee) THEN
        RAISE EXCEPTION 'a plan is agreed between the trainee and an instructor'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'plan_agreed_between_two_sides';
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER assessments_plan_guard BEFORE INSERT OR UPDATE ON assessments_practiceplan
    FOR EACH ROW EXECUTE FUNCTION bankermark_plan_guard();
"""


class Migration(migrations.Migration):
    """Guards of retakes, carried observations, reviews, acknowledgements and plans."""

    dependencies: ClassVar = [
        ("assessments", "0015_second_look"),
        ("training", "0008_trainee"),
    ]

    operations: ClassVar = [
        guard(RETAKE, "assessments_retake", "assessments_retake_guard", "bankermark_retake_guard"),
        guard(
            CARRIED,
            "assessments_observation",
            "assessments_carried_guard",
            "bankermark_carried_guard",
        ),
        migrations.RunSQL(REVIEW, NO_REVIEW),
        guard(
            REVIEW_SCORE,
            "assessments_reviewscore",
            "assessments_review_score_guard",
            "bankermark_review_score_guard",
        ),
        guard(
            ACKNOWLEDGEMENT,
            "assessments_acknowledgement",
            "assessments_acknowledgement_guard",
            "bankermark_acknowledgement_guard",
        ),
        guard(PLAN, "assessments_practiceplan", "assessments_plan_guard", "bankermark_plan_guard"),
        append_only("assessments_retake"),
        append_only("assessments_retakeday"),
        append_only("assessments_acknowledgement"),
        append_only("assessments_practicepiece"),
        append_only("assessments_practicescore"),
        append_only("assessments_reviewphoto"),
        append_only("assessments_reviewscore"),
    ]
