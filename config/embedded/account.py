"""The account that PostgreSQL runs under, and where that account may go.

PostgreSQL refuses to run as root. For anybody else the server runs as themselves.
"""

import os
import pwd
import shutil
import stat
import subprocess
from pathlib import Path

from config.embedded.errors import EmbeddedError

ACCOUNT = "bankermark-db"


def server_account() -> pwd.struct_passwd | None:
    """Return the account to run the server under, made if missing; None when not root."""
    if os.geteuid() != 0:
        return None
    try:
        return pwd.getpwnam(ACCOUNT)
    except KeyError:
        return _make_account()


def may_pass(path: Path) -> bool:
    """Return whether everybody may walk through ``path`` and the folders above it.

    Folders that do not exist yet are left out: who makes them opens them.
    """
    resolved = path.resolve()
    return all(
        folder.stat().st_mode & stat.S_IXOTH
        for folder in (resolved, *resolved.parents)
        if folder.exists()
    )


def make_passable_folder(path: Path) -> None:
    """Make ``path`` and what is missing above it; as root, such that the server may pass."""
    missing = [folder for folder in (path, *path.parents) if not folder.exists()]
    for folder in reversed(missing):
        folder.mkdir(exist_ok=True)
        if os.geteuid() == 0:
            folder.chmod(0o755)  # whatever the umask


def _make_account() -> pwd.struct_passwd:
    useradd = shutil.which("useradd", path=f"{os.defpath}:/usr/sbin:/sbin")
    if useradd is None:
        raise EmbeddedError(
            f"PostgreSQL does not run as root, and there is no useradd to make the account "
            f"{ACCOUNT}. Run as an ordinary user, or set DATABASE_URL."
        )
    command = [useradd, "--system", "--user-group", "--no-create-home"]
    command += ["--home-dir", "/nonexistent", "--shell", "/usr/sbin/nologin", ACCOUNT]
    made = subprocess.run(command, capture_output=True, text=True, check=False)
    try:
        # Another process may have made it in the meantime.
        return pwd.getpwnam(ACCOUNT)
    except KeyError:
        raise EmbeddedError(f"useradd could not make {ACCOUNT}: {made.stderr.strip()}") from None
