"""What the database holds about a course: nobody at two places at once, facts that only grow."""

from typing import ClassVar

from django.db import migrations

from training.database import append_only, guard

# The times of a session stand beside each of its instructors, so that a constraint can see them.
TEACHING = """
CREATE FUNCTION bankermark_teaching_times() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    SELECT s.starts_at, s.ends_at, s.state = 'planned'
        INTO NEW.starts_at, NEW.ends_at, NEW.planned
        FROM training_session s WHERE s.id = NEW.session_id FOR SHARE;
    RETURN NEW;
END $$;
CREATE TRIGGER training_teaching_times BEFORE INSERT OR UPDATE ON training_sessioninstructor
    FOR EACH ROW EXECUTE FUNCTION bankermark_teaching_times();
"""
SESSION = """
CREATE FUNCTION bankermark_session_moved() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    UPDATE training_sessioninstructor SET planned = planned WHERE session_id = NEW.id;
    RETURN NULL;
END $$;
CREATE TRIGGER training_session_moved AFTER UPDATE OF starts_at, ends_at, state ON training_session
    FOR EACH ROW EXECUTE FUNCTION bankermark_session_moved();
"""
# Ranges of one number stand in for the equality that GiST has only with a contrib extension.
CLASHES = """
ALTER TABLE training_session ADD CONSTRAINT session_place_free EXCLUDE USING gist (
    int8range(place_id, place_id, '[]') WITH &&, tstzrange(starts_at, ends_at) WITH &&
) WHERE (state = 'planned' AND place_id IS NOT NULL);
ALTER TABLE training_sessioninstructor ADD CONSTRAINT session_instructor_free EXCLUDE USING gist (
    int8range(person_id, person_id, '[]') WITH &&, tstzrange(starts_at, ends_at) WITH &&
) WHERE (planned);
"""
NO_CLASHES = """
ALTER TABLE training_session DROP CONSTRAINT session_place_free;
ALTER TABLE training_sessioninstructor DROP CONSTRAINT session_instructor_free;
"""
ONLY_GROW = (
    "attendance",
    "helddocument",
    "documenttakenback",
    "material",
    "lognote",
    "logphoto",
    "reaction",
    "reactiongiven",
    "consent",
    "erasure",
)


class Migration(migrations.Migration):
    """Add the constraints and triggers."""

    dependencies: ClassVar = [("training", "0005_course")]

    operations: ClassVar = [
        guard(
            TEACHING,
            "training_sessioninstructor",
            "training_teaching_times",
            "bankermark_teaching_times",
        ),
        guard(SESSION, "training_session", "training_session_moved", "bankermark_session_moved"),
        migrations.RunSQL(CLASHES, NO_CLASHES),
        *(append_only(f"training_{table}") for table in ONLY_GROW),
    ]
