"""Fixtures for every test."""

from collections.abc import Iterator, Sequence
from typing import Any

import pytest
from django.db import connection
from django.db.backends.postgresql.operations import DatabaseOperations
from django.utils import translation

from tests.database import django_db_modify_db_settings  # noqa: F401
from tests.triggers import guarded_tables, lifted

LONGEST = ("tests/test_roles.py", "tests/browser/")


@pytest.fixture(scope="session", autouse=True)
def flush_past_the_guards() -> Iterator[None]:
    """Let the emptying after a transactional test pass the append-only triggers.

    Tests marked ``django_db(transaction=True)`` are cleaned up with TRUNCATE, which the
    product's tables refuse to everybody else.
    """
    patch = pytest.MonkeyPatch()
    plain = DatabaseOperations.execute_sql_flush

    def flush(self: DatabaseOperations, sql_list: Sequence[str]) -> Any:
        with lifted(*guarded_tables()):
            return plain(self, sql_list)

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
            "AND pid <> pg_backend_pid()"
        )


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
