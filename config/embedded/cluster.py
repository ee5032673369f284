"""One database cluster in a folder: made, started, stopped. Callers hold the folder's lock."""

import hashlib
import os
import shlex
import shutil
import stat
import sys
from dataclasses import dataclass
from pathlib import Path

from config.embedded.account import server_account
from config.embedded.errors import EmbeddedError
from config.embedded.programs import MAJOR, run

ROLE = "bankermark"
PORT = "5432"
# sun_path of Linux holds 108 bytes with the closing zero: man 7 unix.
LONGEST_SOCKET = 107
RISKY = ("fsync=off", "synchronous_commit=off", "full_page_writes=off")


@dataclass(frozen=True)
class Cluster:
    """A cluster below ``folder``; one that is not durable forgoes safety for speed."""

    folder: Path
    durable: bool

    @property
    def data(self) -> Path:
        """Return the folder of the cluster itself (PGDATA)."""
        return self.folder / "postgresql"

    @property
    def sockets(self) -> Path:
        """Return the folder of the server's socket: the cluster's, or a short one."""
        if len(os.fsencode(self.data / f".s.PGSQL.{PORT}")) <= LONGEST_SOCKET:
            return self.data
        digest = hashlib.sha256(os.fsencode(self.data.resolve())).hexdigest()[:16]
        return Path("/tmp") / f"bankermark-{_owner()}-{digest}"

    def is_up(self) -> bool:
        """Return whether a server answers here, waiting while one is starting."""
        if not (self.data / "PG_VERSION").exists():
            return False
        while True:
            asked = run(
                "pg_isready", "-h", str(self.sockets), "-p", PORT, "-U", ROLE, "-d", ROLE, "-t", "5"
            )  # fmt: skip
            if asked.returncode != 1:  # 1: starting up or shutting down
                return asked.returncode == 0

    def start(self) -> None:
        """Start the server, making the cluster first where there is none."""
        self._prepare_sockets()
        if self.data.exists():
            self._check()
        else:
            self._make()
        options = [
            "listen_addresses=",
            f"port={PORT}",
            f"unix_socket_directories={_quoted(self.sockets)}",
            "unix_socket_permissions=0700",
            *(() if self.durable else RISKY),
        ]
        log = self.data / "server.log"
        done = run(
            "pg_ctl", "start", "-w", "-t", "120", "-s", "-D", str(self.data), "-l", str(log),
            "-o", " ".join(f"-c {shlex.quote(option)}" for option in options),
        )  # fmt: skip
        if done.returncode != 0:
            raise EmbeddedError(
                f"PostgreSQL did not start in {self.data}: {done.stdout.strip()} "
                f"Its log {log} ends: {_tail(log)}"
            )

    def stop(self) -> None:
        """Stop the server and wait until it is down; sessions still open are cut off."""
        done = run("pg_ctl", "stop", "-w", "-s", "-m", "fast", "-D", str(self.data))
        if done.returncode != 0 and self.is_up():
            raise EmbeddedError(
                f"PostgreSQL in {self.data} did not stop: {done.stdout.strip()} "
                "It goes on running; the next process to use it stops it."
            )

    def _make(self) -> None:
        """Make the cluster beside its place and move it there whole, or leave nothing."""
        if self.durable:
            print(f"Making the database in {self.data}", file=sys.stderr, flush=True)
        fresh = self.folder / "postgresql.new"
        shutil.rmtree(fresh, ignore_errors=True)
        fresh.mkdir(mode=0o700)
        _give(fresh)
        made = run(
            "initdb", "-D", str(fresh), "-U", "postgres", "--auth-local=trust",
            "--auth-host=reject", "--encoding=UTF8", "--locale=C", "--locale-provider=builtin",
            "--builtin-locale=C.UTF-8", "--no-instructions", *(() if self.durable else ["-N"]),
        )  # fmt: skip
        if made.returncode == 0:
            made = run(
                "postgres", "--single", "-D", str(fresh), "postgres",
                text=f"CREATE ROLE {ROLE} LOGIN CREATEDB\nCREATE DATABASE {ROLE} OWNER {ROLE}\n",
            )  # fmt: skip
        if made.returncode != 0 or "ERROR:" in made.stdout:
            raise EmbeddedError(f"PostgreSQL could not be set up: {made.stdout.strip()}")
        fresh.rename(self.data)

    def _check(self) -> None:
        owner = self.data.stat().st_uid
        if owner != _owner():
            raise EmbeddedError(
                f"The database in {self.data} belongs to the user with number {owner}, and the "
                f"server would run as number {_owner()}. Run as the user who made it, or set "
                "BANKERMARK_DATA to another folder."
            )
        version = (self.data / "PG_VERSION").read_text().strip()
        if version != MAJOR:
            raise EmbeddedError(
                f"The database in {self.data} was made by PostgreSQL {version}, and this is "
                f"PostgreSQL {MAJOR}. Dump it with the earlier release of Bankermark and load "
                "it into a new folder."
            )

    def _prepare_sockets(self) -> None:
        """Make the short folder for the socket, which nobody else may have put there."""
        if self.sockets == self.data:
            return
        try:
            self.sockets.mkdir(mode=0o700)
            _give(self.sockets)
        except FileExistsError:
            found = self.sockets.lstat()
            if not stat.S_ISDIR(found.st_mode) or found.st_uid != _owner() or found.st_mode & 0o077:
                raise EmbeddedError(
                    f"{self.sockets} is in the way: it is not a private folder of the server. "
                    "Remove it, or set BANKERMARK_DATA to a folder with a shorter path."
                ) from None


def _owner() -> int:
    account = server_account()
    return account.pw_uid if account else os.geteuid()


def _give(folder: Path) -> None:
    account = server_account()
    if account is not None:
        os.chown(folder, account.pw_uid, account.pw_gid)


def _quoted(path: Path) -> str:
    """Return a path as one item of a list in PostgreSQL's settings."""
    return '"' + str(path).replace('"', '""') + '"'


def _tail(log: Path) -> str:
    try:
        return " / ".join(log.read_text(errors="replace").splitlines()[-5:])
    except OSError:
        return "(not readable)"
