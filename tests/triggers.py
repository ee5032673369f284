"""Lifting the triggers of append-only tables, for tests that play the tamperer."""

from collections.abc import Iterator
from contextlib import contextmanager

from django.db import connection


@contextmanager
def lifted(*tables: str) -> Iterator[None]:
    """Run the block without the triggers of ``tables``; they are back afterwards."""
    _alter(tables, "DISABLE")
    try:
        yield
    finally:
        _alter(tables, "ENABLE")


def guarded_tables() -> list[str]:
    """Return the tables that refuse TRUNCATE."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT DISTINCT tgrelid::regclass::text FROM pg_trigger "
            "WHERE NOT tgisinternal AND tgname LIKE '%%\\_no\\_truncate' ORDER BY 1"
        )
        return [row[0] for row in cursor.fetchall()]


def lock_tables() -> None:
    """Wait until nobody writes into any table, and let nobody until the transaction ends."""
    named = ", ".join(connection.ops.quote_name(table) for table in _tables())
    with connection.cursor() as cursor:
        cursor.execute(f"LOCK TABLE {named} IN SHARE ROW EXCLUSIVE MODE")


def filled_tables() -> set[str]:
    """Return the tables of the product, and of what it stands on, that have rows."""
    asked = " UNION ALL ".join(
        f"SELECT '{table}' WHERE EXISTS (SELECT 1 FROM {connection.ops.quote_name(table)})"
        for table in _tables()
    )
    with connection.cursor() as cursor:
        cursor.execute(asked)
        return {row[0] for row in cursor.fetchall()}


def _tables() -> list[str]:
    return connection.introspection.django_table_names(only_existing=True, include_views=False)


def _alter(tables: tuple[str, ...], word: str) -> None:
    connection.check_constraints()  # those put off to the end would keep the tables locked
    with connection.cursor() as cursor:
        for table in tables:
            cursor.execute(f"ALTER TABLE {connection.ops.quote_name(table)} {word} TRIGGER USER")
