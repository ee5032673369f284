"""Workers as processes of their own, on the database and the files of the test."""

import os
import signal
import subprocess
import sys
from pathlib import Path
from urllib.parse import quote, urlencode

from django.conf import settings
from django.db import connection

MANAGE = Path(settings.BASE_DIR) / "manage.py"


def start_worker(data: Path, *arguments: str) -> "subprocess.Popen[bytes]":
    """Start ``manage.py worker``; ``data`` is the folder that holds files and keys."""
    return subprocess.Popen(
        [sys.executable, str(MANAGE), "worker", "--verbosity", "0", *arguments],
        env={
            **os.environ,
            "DATABASE_URL": database_url(),
            "BANKERMARK_DATA": str(data),
            "BANKERMARK_SECRET_KEY": settings.SECRET_KEY,
            "BANKERMARK_KEY_PASSPHRASE": settings.KEY_PASSPHRASE,
        },
    )


def kill(process: "subprocess.Popen[bytes]") -> bool:
    """Kill ``process`` and say whether it was still alive."""
    alive = process.poll() is None
    process.send_signal(signal.SIGKILL)
    process.wait()
    return alive


def database_url() -> str:
    """Return the address of the database that this process uses."""
    place = connection.get_connection_params()
    names = ("host", "port", "user", "password")
    fields = {str(name): str(place[name]) for name in names if name in place}
    return f"postgresql:///{quote(str(place['dbname']), safe='')}?{urlencode(fields)}"
