"""The log can only grow."""

from typing import ClassVar

from django.db import migrations

from training.database import REFUSE_CHANGE, append_only


class Migration(migrations.Migration):
    """Add the shared trigger function and put the log under it."""

    dependencies: ClassVar = [("training", "0001_initial")]

    operations: ClassVar = [
        migrations.RunSQL(REFUSE_CHANGE, "DROP FUNCTION bankermark_refuse_change();"),
        append_only("training_logentry"),
    ]
