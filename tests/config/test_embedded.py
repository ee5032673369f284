"""The embedded server: who starts it, who stops it, and what it refuses."""

import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import psycopg
import pytest
from django.db import OperationalError
from psycopg.conninfo import make_conninfo

from config.embedded.account import may_pass
from config.embedded.base import DatabaseWrapper
from config.embedded.cluster import LONGEST_SOCKET, ROLE, Cluster
from config.embedded.errors import EmbeddedError
from config.embedded.members import join, leave, remove
from tests.database import PREFIX, sweep, temporary_cluster

ROOT = Path(__file__).resolve().parents[2]
# Joins, says since when the server runs, and leaves at the end of its input.
MEMBER = """
import sys
from pathlib import Path
import psycopg
from config.embedded.cluster import Cluster
from config.embedded.members import join
place = join(Cluster(Path(sys.argv[1]), durable=False))
with psycopg.connect(dbname="bankermark", **place) as connection:
    print(*connection.execute("SELECT pg_postmaster_start_time()").fetchone(), flush=True)
sys.stdin.read()
"""


@pytest.fixture(scope="module")
def shared() -> Iterator[Cluster]:
    with temporary_cluster() as made:
        yield made


@pytest.fixture
def cluster(shared: Cluster) -> Iterator[Cluster]:
    """Give a cluster that other tests use before and after, its server stopped."""
    yield shared
    leave(shared)
    assert not shared.is_up()


@pytest.fixture
def scratch() -> Iterator[Cluster]:
    """Give a cluster to spoil, not made yet."""
    with temporary_cluster() as made:
        yield made


@contextmanager
def member(cluster: Cluster) -> Iterator[subprocess.Popen[str]]:
    """Run a process that uses the server until the end of the block, or until it is killed."""
    process = subprocess.Popen(
        [sys.executable, "-c", MEMBER, str(cluster.folder)],
        cwd=ROOT,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    with process:
        yield process


def since(process: subprocess.Popen[str]) -> str:
    """Return since when the server runs that the process found."""
    assert process.stdout is not None
    return process.stdout.readline()


def wait_for_the_end_of(process: int) -> None:
    """Wait until the system has cleared away a process that is no child of ours."""
    for _ in range(600):
        try:
            os.kill(process, 0)
        except ProcessLookupError:
            return
        time.sleep(0.1)
    pytest.fail(f"Process {process} was killed and is still there after a minute.")


def connect(cluster: Cluster) -> psycopg.Connection:
    return psycopg.connect(make_conninfo(dbname=ROLE, **join(cluster)))


def ask(cluster: Cluster, question: str) -> object:
    with connect(cluster) as connection:
        row = connection.execute(question.encode()).fetchone()
    assert row is not None
    return row[0]


def test_processes_that_come_at_once_share_one_server_and_the_last_stops_it(
    cluster: Cluster,
) -> None:
    with member(cluster) as first:
        with member(cluster) as second, member(cluster) as third:
            started = {since(first), since(second), since(third)}
            assert len(started) == 1
            assert started != {""}
        assert cluster.is_up()
    assert not cluster.is_up()


@pytest.mark.faults
def test_a_process_that_was_killed_is_not_waited_for(cluster: Cluster) -> None:
    with member(cluster) as killed:
        before = since(killed)
        killed.send_signal(signal.SIGKILL)
    assert cluster.is_up(), "nobody was left to stop it"
    with member(cluster) as heir:
        assert since(heir) == before
    assert not cluster.is_up()


@pytest.mark.faults
def test_a_server_that_was_killed_is_started_again_with_what_was_committed(
    scratch: Cluster,
) -> None:
    durable = Cluster(scratch.folder, durable=True)
    with connect(durable) as connection:
        connection.execute("CREATE TABLE stones AS SELECT 'sill' AS name")
    postmaster = int((durable.data / "postmaster.pid").read_text().split()[0])
    with member(durable) as other:
        since(other)
        leave(durable)
        os.kill(postmaster, signal.SIGKILL)
        wait_for_the_end_of(postmaster)
        assert ask(durable, "SELECT name FROM stones") == "sill"
    leave(durable)


def test_a_forked_process_that_ends_does_not_stop_it(cluster: Cluster) -> None:
    join(cluster)
    child = os.fork()
    if child == 0:
        leave(cluster)
        os._exit(0)
    os.waitpid(child, 0)
    assert cluster.is_up()


def test_a_forked_process_may_join_for_itself(cluster: Cluster) -> None:
    join(cluster)
    child = os.fork()
    if child == 0:
        join(cluster)
        leave(cluster)
        os._exit(0)
    _, status = os.waitpid(child, 0)
    assert status == 0
    assert cluster.is_up()


def test_a_server_in_use_is_not_removed(scratch: Cluster) -> None:
    with member(scratch) as user:
        since(user)
        assert not remove(scratch)
        assert scratch.is_up()
    assert remove(scratch)
    assert not scratch.folder.exists()


def test_a_test_session_that_was_killed_leaves_nothing_for_long(scratch: Cluster) -> None:
    number = 2**22 + 1  # above the largest process number of Linux: man 5 proc, pid_max
    left = scratch.folder.rename(scratch.folder.with_name(f"{PREFIX}{number}-left"))
    with member(Cluster(left, durable=False)) as killed:
        since(killed)
        killed.kill()
    sweep()
    assert not left.exists()


@pytest.mark.parametrize(("durable", "fsync"), [(True, "on"), (False, "off")])
def test_only_a_server_for_tests_forgoes_safety(
    durable: bool, fsync: str, scratch: Cluster, capfd: pytest.CaptureFixture[str]
) -> None:
    chosen = Cluster(scratch.folder, durable=durable)
    assert ask(chosen, "SHOW fsync") == fsync
    assert ask(chosen, "SHOW listen_addresses") == ""
    assert ask(chosen, "SELECT rolsuper FROM pg_roles WHERE rolname = current_user") is False
    leave(chosen)
    assert ("Making the database" in capfd.readouterr().err) is durable


def test_making_that_was_broken_off_begins_anew(scratch: Cluster) -> None:
    rest = scratch.folder / "postgresql.new"
    rest.mkdir()
    (rest / "PG_VERSION").write_text("18\n")
    assert ask(scratch, "SELECT 1") == 1
    assert not rest.exists()


@pytest.fixture
def deep(scratch: Cluster) -> Iterator[Cluster]:
    """Give a cluster whose path is too long for a socket (sun_path: man 7 unix)."""
    folder = scratch.folder / ("deep" * 30)
    folder.mkdir(mode=0o711)
    found = Cluster(folder, durable=False)
    yield found
    leave(found)
    shutil.rmtree(found.sockets, ignore_errors=True)


def test_a_path_too_long_for_a_socket_is_no_hindrance(deep: Cluster) -> None:
    assert ask(deep, "SELECT 1") == 1
    assert len(os.fsencode(deep.sockets / ".s.PGSQL.5432")) <= LONGEST_SOCKET
    assert deep.sockets.stat().st_mode & 0o777 == 0o700


def test_a_socket_folder_that_somebody_else_could_use_is_refused(deep: Cluster) -> None:
    deep.sockets.mkdir()
    deep.sockets.chmod(0o777)
    with pytest.raises(EmbeddedError, match="in the way"):
        join(deep)


def test_a_database_of_another_version_is_left_alone(scratch: Cluster) -> None:
    ask(scratch, "SELECT 1")
    leave(scratch)
    (scratch.data / "PG_VERSION").write_text("17\n")
    with pytest.raises(EmbeddedError, match="made by PostgreSQL 17"):
        join(scratch)
    (scratch.data / "PG_VERSION").write_text("18\n")


def test_a_server_that_cannot_start_shows_its_log(scratch: Cluster) -> None:
    ask(scratch, "SELECT 1")
    leave(scratch)
    with (scratch.data / "postgresql.conf").open("a") as settings:
        settings.write("shared_buffers = plenty\n")
    with pytest.raises(EmbeddedError, match='"shared_buffers": "plenty"'):
        join(scratch)


def test_django_gets_an_error_that_it_knows() -> None:
    place = {"EMBEDDED": {"FOLDER": "/dev/null/data", "DURABLE": True}, "NAME": ROLE}
    with pytest.raises(OperationalError, match="Set BANKERMARK_DATA"):
        DatabaseWrapper(place).get_connection_params()


def test_reading_the_settings_starts_no_server(tmp_path: Path) -> None:
    environ = {**os.environ, "BANKERMARK_DATA": str(tmp_path)}
    environ.pop("DATABASE_URL", None)
    environ |= {"BANKERMARK_SECRET_KEY": "s" * 40, "BANKERMARK_KEY_PASSPHRASE": "p" * 20}
    environ |= {"DJANGO_SETTINGS_MODULE": "config.settings"}
    command = [sys.executable, "-W", "error", "-c", "from django.db import connection as c; c.ops"]
    subprocess.run(command, cwd=ROOT, env=environ, check=True)
    assert list(tmp_path.glob("postgresql*")) == []


def test_whether_others_may_pass_is_asked_and_not_changed() -> None:
    with tempfile.TemporaryDirectory(dir="/tmp") as name:
        folder = Path(name)
        inner = folder / "inner"
        inner.mkdir(mode=0o755)
        assert not may_pass(inner)
        assert not may_pass(inner / "to be made")
        assert folder.stat().st_mode & 0o777 == 0o700
        folder.chmod(0o711)
        assert may_pass(inner)
