"""A database server of its own for each test session, unless DATABASE_URL names one."""

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import pytest
from django.db import connections

from config.embedded.cluster import Cluster
from config.embedded.members import leave, remove
from tests.template import NAME, copy_template

PREFIX = "bankermark-test-"


@pytest.fixture(scope="session")
def django_db_modify_db_settings(request: pytest.FixtureRequest) -> Iterator[None]:
    """Point the settings at a fresh server that forgoes safety for speed; remove it after.

    So a test session never meets the demo's server, nor that of another session. Overrides the
    fixture of this name in pytest-django, which asks for it before the first connection.
    """
    if "DATABASE_URL" in os.environ:
        # One database for each of the processes that share the tests.
        request.getfixturevalue("django_db_modify_db_settings_parallel_suffix")
        yield
        return
    sweep()
    with temporary_cluster() as cluster:
        copy_template(cluster)
        settings = connections["default"].settings_dict
        settings["EMBEDDED"] = {"FOLDER": str(cluster.folder), "DURABLE": False}
        settings["TEST"]["NAME"] = NAME  # whatever names a database on a shared server
        yield


@pytest.fixture(scope="session")
def django_db_keepdb(request: pytest.FixtureRequest) -> bool:
    """Keep the database that came with the copied server; what is missing is still migrated."""
    return "DATABASE_URL" not in os.environ or bool(request.config.option.reuse_db)


@contextmanager
def temporary_cluster() -> Iterator[Cluster]:
    """Give a cluster in a folder of its own, not started yet; stop and delete it after."""
    folder = Path(tempfile.mkdtemp(prefix=f"{PREFIX}{os.getpid()}-", dir=_temporary()))
    folder.chmod(0o711)  # the server's account passes, nobody reads
    cluster = Cluster(folder, durable=False)
    try:
        yield cluster
    finally:
        leave(cluster)
        remove(cluster)


def sweep() -> None:
    """Remove the servers of test sessions that were killed; their folders name the process."""
    for folder in Path(_temporary()).glob(f"{PREFIX}*-*"):
        process = folder.name.removeprefix(PREFIX).partition("-")[0]
        if Path("/proc", process).exists():
            continue
        with suppress(FileNotFoundError):  # another session sweeps at the same moment
            if folder.stat().st_uid == os.geteuid():
                remove(Cluster(folder, durable=False))


def _temporary() -> str:
    # As root the folder must be open to the server's account, which TMPDIR may not be.
    return "/tmp" if os.geteuid() == 0 else tempfile.gettempdir()
