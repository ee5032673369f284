"""A database whose rows are really committed, for tests of what two people do at once."""

from collections.abc import Iterator

import pytest
from django.db import connection
from pytest_django.plugin import DjangoDbBlocker

GUARDED = (
    "SELECT DISTINCT tgrelid::regclass::text FROM pg_trigger WHERE tgname LIKE '%%no_truncate'"
)


def _triggers(word: str) -> None:
    with connection.cursor() as cursor:
        cursor.execute(GUARDED)
        for (table,) in cursor.fetchall():
            cursor.execute(f"ALTER TABLE {table} {word} TRIGGER USER")


@pytest.fixture
def _guards_back(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[None]:
    # Set up before the database, so that this end comes after the database was emptied.
    yield
    with django_db_blocker.unblock():
        _triggers("ENABLE")
        connection.close()


@pytest.fixture
def committed(_guards_back: None, transactional_db: None) -> Iterator[None]:
    """Let the test commit; the append-only tables let go only while it is cleaned up."""
    yield
    _triggers("DISABLE")
