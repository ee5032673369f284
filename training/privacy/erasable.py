"""Taking out of append-only rows what the database lets go: after an erasure, and with time.

The database function ``bankermark_erased`` says what a row becomes; its trigger takes nothing
else. So there is one place that says it, and no statement can take more.
"""

import json
import logging
from collections.abc import Iterable
from typing import Any

from django.core.files.storage import default_storage
from django.db import connection
from django.db.models import FileField, QuerySet

log = logging.getLogger(__name__)
GONE = "erased"


def erase_rows(rows: QuerySet[Any], *, only_look: bool = False) -> tuple[int, list[str]]:
    """Let each row become what it may; return how many changed and the files nobody names now.

    A row that the database lets nothing go from is left alone. Call it inside a transaction and
    remove the files once that is committed.
    """
    model, changed, files = rows.model, 0, []
    table = model._meta.db_table
    stored = [each for each in model._meta.concrete_fields if isinstance(each, FileField)]
    for row in rows.iterator(chunk_size=100):
        allowed = _allowed(table, model._meta.pk.column, row.pk)
        if allowed is None or _same(row, allowed):
            continue
        changed += 1
        for field in stored:
            name = getattr(row, field.name).name
            if field.name in allowed and name and name != GONE:
                files.append(name)
        if not only_look:
            model._default_manager.filter(pk=row.pk).update(**allowed)
    return changed, files


def remove_files(names: Iterable[str]) -> None:
    """Remove files from the storage; one that cannot be removed is logged for whoever runs it."""
    for name in names:
        try:
            default_storage.delete(name)
        # An object store raises its own types; the others are removed all the same.
        except Exception:
            log.exception("%s could not be removed: remove it by hand", name)


def _allowed(table: str, key: str, pk: Any) -> dict[str, Any] | None:
    name, column = connection.ops.quote_name(table), connection.ops.quote_name(key)
    with connection.cursor() as cursor:
        cursor.execute(
            f"SELECT bankermark_erased(%s, to_jsonb(r)) FROM {name} r WHERE r.{column} = %s",
            [table, pk],
        )
        found = cursor.fetchone()
    value = found[0] if found else None
    return json.loads(value) if isinstance(value, str) else value


def _same(row: Any, allowed: dict[str, Any]) -> bool:
    for name, value in allowed.items():
        now = getattr(row, name)
        if (now.name if hasattr(now, "storage") else now) != value:
            return False
    return True
