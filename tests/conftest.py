"""Fixtures for every test."""

import gc
from collections.abc import Iterator, Sequence
from typing import Any

import pytest
from django.db import connection, transaction
from django.db.backends.postgresql.operations import DatabaseOperations
from django.utils import translation

from tests.database import django_db_keepdb, django_db_modify_db_settings  # noqa: F401
from tests.triggers import filled_tables, lifted, lock_tables

LONGEST = ("tests/test_roles.py", "tests/browser/")


@pytest.fixture(scope="session", autouse=True)
def flush_past_the_guards() -> Iterator[None]:
    """Empty the database after a transactional test in a fraction of the time of TRUNCATE.

    Only what has rows is emptied, past the append-only triggers, which refuse it to everybody
    else. What Django writes of the models stays: it would be written again at once.
    """
    patch = pytest.MonkeyPatch()

    def flush(self: DatabaseOperations, sql_list: Sequence[str]) -> None:
        with transaction.atomic():
            # A request that the test no longer waits for comes before, or not at all.
            lock_tables()
            tables = filled_tables() - {"django_content_type", "auth_permission"}
            with lifted(*tables), connection.cursor() as cursor:
                for table in tables:
                    cursor.execute(f"DELETE FROM {connection.ops.quote_name(table)}")

    patch.setattr(DatabaseOperations, "execute_sql_flush", flush)
    yield
    patch.undo()


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup: None, django_db_blocker: Any) -> Iterator[None]:
    """End what still holds the test database when it is to be dropped.

    A thread of the live server ends when the browser lets go of it, which nobody awaits.
    """
    yield
    with django_db_blocker.unblock(), connection.cursor() as cursor:
        cursor.execute(
            "SELECT pg_terminate_backend(pid) FROM pg_stat_activity "
            "WHERE datname = current_database() AND datname LIKE 'test%%' "
            "AND backend_type = 'client backend' "
            "AND pid <> pg_backend_pid()"
        )


def pytest_collection_finish() -> None:
    """Look for cycles more rarely, and not among modules and tests: a tenth of the time."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(100_000, 50, 100)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Begin with what takes longest, so that no process is left with it at the end."""
    items.sort(key=lambda item: not item.nodeid.startswith(LONGEST))


@pytest.fixture(autouse=True)
def in_english() -> Iterator[None]:
    """Begin in English: a page asked for in Spanish leaves its language to the thread."""
    translation.activate("en")
    yield
    translation.activate("en")


@pytest.fixture(autouse=True)
def data_in_a_folder_of_its_own(settings: Any, tmp_path: Any) -> None:
    """Keep files and keys that a test writes out of the data folder."""
    settings.MEDIA_ROOT = tmp_path / "files"
    settings.KEY_FOLDER = tmp_path / "keys"
    settings.STATIC_ROOT = tmp_path / "static"
    settings.STATIC_ROOT.mkdir()
    # Hashing is meant to be slow; no test is about how slow.
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    # Pages are tested without collecting static files first.
    settings.STORAGES = {
        **settings.STORAGES,
        "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
    }
