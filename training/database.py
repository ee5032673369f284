"""Rules that only the database can hold: SQL for the triggers of append-only tables."""

from django.db import migrations

REFUSE_CHANGE = """
CREATE OR REPLACE FUNCTION bankermark_refuse_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION '% is append-only: % is refused', TG_TABLE_NAME, TG_OP
        USING ERRCODE = 'restrict_violation';
END $$;
"""


def append_only(table: str) -> migrations.RunSQL:
    """Return the migration step that lets rows of ``table`` be inserted and nothing else."""
    return migrations.RunSQL(
        f"""
        CREATE TRIGGER {table}_append_only BEFORE UPDATE OR DELETE ON {table}
            FOR EACH ROW EXECUTE FUNCTION bankermark_refuse_change();
        CREATE TRIGGER {table}_no_truncate BEFORE TRUNCATE ON {table}
            FOR EACH STATEMENT EXECUTE FUNCTION bankermark_refuse_change();
        """,
        f"""
        DROP TRIGGER {table}_append_only ON {table};
        DROP TRIGGER {table}_no_truncate ON {table};
        """,
    )


def guard(sql: str, table: str, trigger: str, function: str) -> migrations.RunSQL:
    """Return the step that adds a trigger with its function, and takes both away again."""
    return migrations.RunSQL(sql, f"DROP TRIGGER {trigger} ON {table}; DROP FUNCTION {function}();")
