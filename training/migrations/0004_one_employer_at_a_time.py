"""Let the database refuse two employments of one person on one day."""

from typing import ClassVar

from django.db import migrations


class Migration(migrations.Migration):
    """Add the constraint; ranges of one number stand in for the equality of GiST's contrib."""

    dependencies: ClassVar = [("training", "0003_crew")]

    operations: ClassVar = [
        migrations.RunSQL(
            """
            ALTER TABLE training_employment ADD CONSTRAINT employment_one_at_a_time
                EXCLUDE USING gist (
                    int8range(person_id, person_id, '[]') WITH &&,
                    daterange(since, until, '[]') WITH &&
                );
            """,
            "ALTER TABLE training_employment DROP CONSTRAINT employment_one_at_a_time;",
        ),
    ]
