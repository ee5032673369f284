"""The product as it is served, with its shell collected, for measurements in a browser.

A data folder of its own with the embedded database (durable, as on a server), collected static
files, and gunicorn with two workers, which is how ``manage.py demo`` serves.
"""

import http.client
import os
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import django

PATIENCE = 240  # seconds


@contextmanager
def served() -> Iterator[str]:
    """Serve the product with empty tables; give the address. Once in a process."""
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as name:
        folder = Path(name)
        folder.chmod(0o711)  # the account of the database server passes
        os.environ.pop("DATABASE_URL", None)  # a server in use is no place for measurements
        os.environ["BANKERMARK_DATA"] = str(folder / "data")
        os.environ["DJANGO_SETTINGS_MODULE"] = "config.settings"
        # Playwright keeps an event loop in this thread, which Django takes for asynchronous code.
        os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"
        subprocess.run([sys.executable, "-m", "config.bootstrap"], check=True)
        django.setup()
        from django.conf import settings
        from django.core.management import call_command
        from django.db import connections

        from config.embedded.cluster import Cluster
        from config.embedded.members import leave, remove

        call_command("migrate", verbosity=0, interactive=False)
        call_command("collectstatic", verbosity=0, interactive=False)
        port = _free_port()
        command = [sys.executable, "-m", "gunicorn", "config.wsgi", "--bind", f"127.0.0.1:{port}"]
        command += ["--workers", "2", "--threads", "4", "--log-level", "warning"]
        server = subprocess.Popen(command)
        try:
            _wait(port)
            yield f"http://127.0.0.1:{port}"
        finally:
            server.terminate()
            server.wait()
            connections.close_all()
            cluster = Cluster(
                Path(settings.DATABASES["default"]["EMBEDDED"]["FOLDER"]), durable=True
            )
            leave(cluster)
            remove(cluster)


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def _wait(port: int) -> None:
    end = time.monotonic() + PATIENCE
    while time.monotonic() < end:
        with suppress(OSError):
            connection = http.client.HTTPConnection("127.0.0.1", port, timeout=5)
            connection.request("GET", "/site/")
            connection.getresponse().read()
            return
        time.sleep(0.1)
    raise RuntimeError("The server did not come up.")
