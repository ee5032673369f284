"""An empty test database, migrated once and copied for each test session.

Migrating takes half a minute of processor time, copying the files a fraction of a second.
``python -m tests.template`` makes it beforehand.
"""

import fcntl
import hashlib
import os
import shutil
import subprocess
import sys
from pathlib import Path

from config.embedded.cluster import Cluster
from config.embedded.members import leave
from config.embedded.programs import MAJOR

ROOT = Path(__file__).resolve().parents[1]
NAME = "test_bankermark"
KEPT = ROOT / "var" / "test-database"
# What a migrated database depends on, besides the releases of Django and PostgreSQL.
SOURCES = ("*/migrations/*.py", "training/database.py")


def copy_template(cluster: Cluster) -> None:
    """Put a copy of the migrated cluster in the place of ``cluster``, which is not made yet."""
    _copy(template() / "postgresql", cluster.data)


def template() -> Path:
    """Return the folder of the cluster migrated by today's migrations, made if missing.

    Those of other migrations are deleted.
    """
    KEPT.mkdir(parents=True, exist_ok=True)
    with (KEPT / "lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        made = KEPT / _digest()
        if not made.exists():
            for old in KEPT.iterdir():
                if old.is_dir():
                    shutil.rmtree(old)
            # In a process of its own: this one's connection waits for its own server.
            subprocess.run(
                [sys.executable, "-m", "tests.template", str(made)], cwd=ROOT, check=True
            )
    return made


def _make(place: Path) -> None:
    """Migrate a test database in a cluster of its own and keep the cluster's files."""
    os.environ["DJANGO_SETTINGS_MODULE"] = "config.settings"
    import django

    django.setup()
    from django.db import connection

    from tests.database import temporary_cluster

    with temporary_cluster() as cluster:
        connection.settings_dict["EMBEDDED"] = {"FOLDER": str(cluster.folder), "DURABLE": False}
        connection.settings_dict["TEST"]["NAME"] = NAME
        connection.creation.create_test_db(verbosity=0, serialize=False)
        connection.close()
        leave(cluster)
        fresh = place.with_suffix(".new")
        shutil.rmtree(fresh, ignore_errors=True)
        fresh.mkdir()
        _copy(cluster.data, fresh / "postgresql")
        fresh.rename(place)


def _copy(data: Path, place: Path) -> None:
    # Unlike shutil's it keeps whose the files are: as root they are the server's.
    subprocess.run(["cp", "-a", "--reflink=auto", str(data), str(place)], check=True)


def _digest() -> str:
    import django

    digest = hashlib.sha256(f"{django.__version__} {MAJOR} {sys.version}".encode())
    for path in sorted(each for pattern in SOURCES for each in ROOT.glob(pattern)):
        digest.update(f"\n{path.relative_to(ROOT)}\n".encode() + path.read_bytes())
    return digest.hexdigest()[:16]


if __name__ == "__main__":
    if len(sys.argv) > 1:
        _make(Path(sys.argv[1]))
    elif "DATABASE_URL" not in os.environ:
        template()
