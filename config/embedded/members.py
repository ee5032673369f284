"""Who uses a server: the first process starts it, the last one to leave stops it.

Each process that uses the server holds a shared lock on a file beside the cluster. The
kernel drops it when a process dies, however it dies, so nobody is counted who is gone. A
second lock lets one process at a time start or stop.
"""

import atexit
import fcntl
import os
import shutil
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from config.embedded.account import make_passable_folder
from config.embedded.cluster import PORT, ROLE, Cluster
from config.embedded.errors import EmbeddedError


@dataclass(frozen=True)
class _Membership:
    process: int
    lock: int  # file descriptor


_guard = threading.Lock()
_memberships: dict[Cluster, _Membership] = {}


def join(cluster: Cluster) -> dict[str, str]:
    """Make sure that the server runs, for as long as this process; return where it listens.

    Keys: ``host`` (folder of the socket), ``port``, ``user``. Raise EmbeddedError when it
    cannot be started.
    """
    with _guard:
        member = _memberships.get(cluster)
        if member is None or member.process != os.getpid():
            _memberships[cluster] = _enter(cluster)
            if member is not None:
                os.close(member.lock)  # inherited by a fork; the parent keeps its own
            else:
                atexit.register(leave, cluster)
    return {"host": str(cluster.sockets), "port": PORT, "user": ROLE}


def leave(cluster: Cluster) -> None:
    """Stop using the server; stop it if nobody else does."""
    with _guard:
        member = _memberships.get(cluster)
        if member is None or member.process != os.getpid():
            return
        del _memberships[cluster]
        with _alone(cluster):
            try:
                fcntl.flock(member.lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except BlockingIOError:
                return
            else:
                cluster.stop()
            finally:
                os.close(member.lock)


def remove(cluster: Cluster) -> bool:
    """Stop the server and delete its folder unless a process uses it; return whether done."""
    if not cluster.folder.exists():
        return True
    with _alone(cluster):
        lock = _open(cluster, "postgresql.users")
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        else:
            if cluster.is_up():
                cluster.stop()
            shutil.rmtree(cluster.folder)
            return True
        finally:
            os.close(lock)


def _enter(cluster: Cluster) -> _Membership:
    try:
        make_passable_folder(cluster.folder)
        with _alone(cluster):
            lock = _open(cluster, "postgresql.users")
            try:
                fcntl.flock(lock, fcntl.LOCK_SH)
                if not cluster.is_up():
                    cluster.start()
            except BaseException:
                os.close(lock)
                raise
    except OSError as error:
        raise EmbeddedError(
            f"The database cannot be kept in {cluster.folder}: {error}. Set BANKERMARK_DATA to "
            "a folder that this user may write, or DATABASE_URL to a server."
        ) from error
    return _Membership(os.getpid(), lock)


@contextmanager
def _alone(cluster: Cluster) -> Iterator[None]:
    """Hold the lock under which a server is started or stopped."""
    lock = _open(cluster, "postgresql.lock")
    try:
        fcntl.flock(lock, fcntl.LOCK_EX)
        yield
    finally:
        os.close(lock)


def _open(cluster: Cluster, name: str) -> int:
    return os.open(cluster.folder / name, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600)
