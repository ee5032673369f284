"""What may leave rows that only grow: a person's data after an erasure, and what is over."""

from typing import ClassVar

from django.db import migrations

from training.database import guard

# What a row may be changed to, and nothing else: NULL as long as nothing may leave it.
# A file's name becomes 'erased'; digests stay, so that a copy can still be recognised.
ERASED = r"""
CREATE FUNCTION bankermark_alias(person bigint) RETURNS text LANGUAGE sql STABLE AS $$
    SELECT pseudonym FROM training_erasure WHERE person_id = person
$$;

CREATE FUNCTION bankermark_gone(name jsonb) RETURNS text LANGUAGE sql IMMUTABLE AS $$
    SELECT CASE WHEN name = '""'::jsonb THEN '' ELSE 'erased' END
$$;

CREATE FUNCTION bankermark_owner_of(attempt text) RETURNS bigint LANGUAGE sql STABLE AS $$
    SELECT e.person_id FROM assessments_attempt a
    JOIN training_enrolment e ON e.id = a.enrolment_id WHERE a.id = attempt::uuid
$$;

CREATE FUNCTION bankermark_without_name(told text, name text, alias text) RETURNS text
LANGUAGE sql IMMUTABLE AS $$
    -- As JSON writes the name, as a whole, and not within a longer one.
    SELECT regexp_replace(told, '(?<![[:alnum:]-])' || regexp_replace(
        substr(to_jsonb(name)::text, 2, length(to_jsonb(name)::text) - 2),
        '([^[:alnum:][:space:]])', '\\\1', 'g'
    ) || '(?![[:alnum:]-])', alias, 'g')
$$;

CREATE FUNCTION bankermark_erased_submittal(submittal jsonb) RETURNS jsonb
LANGUAGE plpgsql STABLE AS $$
DECLARE
    aliases jsonb;
    gone record;
    found jsonb := submittal -> 'document';
BEGIN
    -- A line of a record is known by its number, whatever the holder was called then.
    SELECT jsonb_object_agg(r.number, e.pseudonym) INTO aliases
        FROM certificates_submittedrecord s
        JOIN certificates_record r ON r.id = s.record_id
        JOIN training_erasure e ON e.person_id = r.holder_id
        WHERE s.submittal_id = (submittal ->> 'id')::uuid;
    IF aliases IS NOT NULL AND jsonb_typeof(found -> 'posts') = 'array' THEN
        found := jsonb_set(found, '{posts}', (
            SELECT coalesce(jsonb_agg(
                CASE WHEN jsonb_typeof(post -> 'covered_by') <> 'array' THEN post
                ELSE jsonb_set(post, '{covered_by}', (
                    SELECT coalesce(jsonb_agg(
                        CASE WHEN aliases ? (line ->> 'number')
                        THEN jsonb_set(line, '{holder}', aliases -> (line ->> 'number'))
                        ELSE line END ORDER BY place), '[]'::jsonb)
                    FROM jsonb_array_elements(post -> 'covered_by') WITH ORDINALITY b(line, place)
                )) END ORDER BY number), '[]'::jsonb)
            FROM jsonb_array_elements(found -> 'posts') WITH ORDINALITY a(post, number)
        ));
    END IF;
    -- Sentences, and who submitted it: the name is known until the person's row has the alias.
    FOR gone IN
        SELECT p.full_name, e.pseudonym FROM training_erasure e
        JOIN training_person p ON p.id = e.person_id AND p.full_name <> e.pseudonym
        WHERE p.id = (submittal ->> 'submitted_by_id')::bigint OR EXISTS (
            SELECT 1 FROM training_employment m JOIN certificates_project j
                ON j.contractor_id = m.organisation_id
            WHERE m.person_id = p.id AND j.id = (submittal ->> 'project_id')::uuid
        )
    LOOP
        found := bankermark_without_name(found::text, gone.full_name, gone.pseudonym)::jsonb;
    END LOOP;
    RETURN CASE WHEN found IS DISTINCT FROM submittal -> 'document'
        THEN jsonb_build_object('document', found, 'pdf', bankermark_gone(submittal -> 'pdf')) END;
END $$;

CREATE FUNCTION bankermark_erased(kind text, entry jsonb) RETURNS jsonb
LANGUAGE plpgsql STABLE AS $$
DECLARE
    alias text;
BEGIN
    IF kind = 'certificates_record' THEN
        alias := bankermark_alias((entry ->> 'holder_id')::bigint);
        RETURN CASE WHEN alias IS NOT NULL THEN jsonb_build_object(
            'document', jsonb_build_object(
                'erased', alias,
                'number', entry -> 'number',
                'holder', jsonb_build_object('name', alias),
                'program', entry #> '{document,program}'
            ),
            'pdf', bankermark_gone(entry -> 'pdf'),
            'competency', bankermark_gone(entry -> 'competency')
        ) END;
    ELSIF kind = 'certificates_credential' THEN
        SELECT bankermark_alias(holder_id) INTO alias
            FROM certificates_record WHERE id = (entry ->> 'record_id')::uuid;
        RETURN CASE WHEN alias IS NOT NULL
            THEN jsonb_build_object('document', jsonb_build_object('erased', alias)) END;
    ELSIF kind = 'certificates_submittal' THEN
        RETURN bankermark_erased_submittal(entry);
    ELSIF kind = 'training_helddocument' THEN
        IF bankermark_alias((entry ->> 'person_id')::bigint) IS NOT NULL THEN
            RETURN jsonb_build_object('file', bankermark_gone(entry -> 'file'), 'number', '');
        END IF;
        -- The scan of a paper that lapsed long ago proves nothing any more.
        RETURN CASE WHEN (entry ->> 'expires_on')::date < current_date - 30
            THEN jsonb_build_object('file', bankermark_gone(entry -> 'file')) END;
    ELSIF kind = 'training_reaction' THEN
        RETURN CASE WHEN (entry ->> 'on')::date < current_date - 365 THEN jsonb_build_object(
            'answers', (
                SELECT coalesce(jsonb_object_agg(key, value), '{}'::jsonb)
                FROM jsonb_each(entry -> 'answers') WHERE jsonb_typeof(value) = 'number'
            )) END;
    ELSIF kind = 'assessments_papersheet' THEN
        alias := bankermark_alias(bankermark_owner_of(entry ->> 'attempt_id'));
        RETURN CASE WHEN alias IS NOT NULL
            THEN jsonb_build_object('file', bankermark_gone(entry -> 'file')) END;
    ELSIF kind = 'assessments_photobytes' THEN
        -- The same bytes may be a photograph of somebody else's work too.
        RETURN (
            SELECT CASE WHEN bool_and(
                bankermark_alias(bankermark_owner_of(p.attempt_id::text)) IS NOT NULL
            ) THEN jsonb_build_object('file', bankermark_gone(entry -> 'file')) END
            FROM assessments_photo p WHERE p.sha256 = entry ->> 'sha256'
        );
    END IF;
    RETURN NULL;
END $$;

CREATE FUNCTION bankermark_only_erase() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    allowed jsonb;
BEGIN
    IF TG_OP = 'UPDATE' THEN
        allowed := bankermark_erased(TG_TABLE_NAME, to_jsonb(OLD));
        IF allowed IS NOT NULL AND to_jsonb(NEW) = to_jsonb(OLD) || allowed THEN
            RETURN NEW;
        END IF;
    END IF;
    RAISE EXCEPTION '% is append-only: % is refused', TG_TABLE_NAME, TG_OP
        USING ERRCODE = 'restrict_violation';
END $$;
"""
NOT_ERASED = """
DROP FUNCTION bankermark_only_erase();
DROP FUNCTION bankermark_erased(text, jsonb);
DROP FUNCTION bankermark_erased_submittal(jsonb);
DROP FUNCTION bankermark_without_name(text, text, text);
DROP FUNCTION bankermark_owner_of(text);
DROP FUNCTION bankermark_gone(jsonb);
DROP FUNCTION bankermark_alias(bigint);
"""
NO_RECORD_AFTER = """
CREATE FUNCTION bankermark_record_of_somebody() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    PERFORM 1 FROM training_person WHERE id = NEW.holder_id FOR SHARE;
    IF bankermark_alias(NEW.holder_id) IS NOT NULL THEN
        RAISE EXCEPTION 'nothing is issued to a person who was erased'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'record_holder_not_erased';
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER certificates_record_of_somebody BEFORE INSERT ON certificates_record
    FOR EACH ROW EXECUTE FUNCTION bankermark_record_of_somebody();
"""
ERASABLE = (
    "certificates_record",
    "certificates_credential",
    "certificates_submittal",
    "training_helddocument",
    "training_reaction",
    "assessments_papersheet",
    "assessments_photobytes",
)


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
    """Let an erasure, and time, take from append-only rows what the function names."""

    dependencies: ClassVar = [
        ("certificates", "0010_crew_guards"),
        ("assessments", "0014_course_guards"),
        ("training", "0006_course_guards"),
    ]

    operations: ClassVar = [
        migrations.RunSQL(ERASED, NOT_ERASED),
        *(erasable(table) for table in ERASABLE),
        guard(
            NO_RECORD_AFTER,
            "certificates_record",
            "certificates_record_of_somebody",
            "bankermark_record_of_somebody",
        ),
    ]
