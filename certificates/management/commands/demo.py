"""manage.py demo: the scenario in the database, the server on 127.0.0.1, and a worker."""

import signal
import socket
import subprocess
import sys
from argparse import ArgumentParser
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError

from certificates.demo.crew import finish_projects
from certificates.demo.story import is_told, issue_missing, read_scenario, tell

ADDRESS = "127.0.0.1"
SIGN_INS = ("lead", "instructor", "contractor", "representative")


class Command(BaseCommand):
    """Set up what is missing, say how to sign in, and serve until Ctrl-C."""

    help = "Prepare the database, load the demo scenario once, and serve it."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the port, and whether to serve."""
        parser.add_argument("--port", type=int, default=8000)
        parser.add_argument("--no-server", action="store_true", help="prepare only")

    def handle(self, *args: Any, port: int, no_server: bool, **options: Any) -> None:
        """Prepare, then serve."""
        if not no_server and _taken(port):
            raise CommandError(
                f"Something answers on {ADDRESS}:{port} already. Stop it, or choose another "
                f"port: make demo PORT={port + 1}"
            )
        self._say("database: bringing the tables up to date")
        call_command("migrate", verbosity=0, interactive=False)
        if not _collected():
            self._say("static files: collecting once")
            call_command("collectstatic", verbosity=0, interactive=False)
        scenario = read_scenario()
        if is_told(scenario):
            self._say("demo data: kept as you left it")
        else:
            tell(scenario, self._say_data)
        issue_missing(scenario, self._say_data)
        finish_projects(scenario, self._say_data)
        self._introduce(scenario, port)
        if not no_server:
            self._serve(port)

    def _say(self, text: str) -> None:
        self.stdout.write(f"  {text}")
        self.stdout.flush()

    def _say_data(self, text: str) -> None:
        self._say(f"demo data: {text}")

    def _introduce(self, scenario: dict[str, Any], port: int) -> None:
        people = [scenario["people"][key] for key in SIGN_INS]
        trainee = next(iter(next(iter(scenario["runs"].values()))["trainees"].values()))
        rows = [(person["role"], person["email"], person["name"]) for person in people]
        rows.append(("trainee", trainee["email"], trainee["name"]))
        self.stdout.write(f"\nBankermark is at http://{ADDRESS}:{port}/\n")
        self.stdout.write(f"Sign in with the password: {scenario['password']}\n\n")
        for role, email, name in rows:
            self.stdout.write(f"  {role:<12} {email:<34} {name}\n")
        self.stdout.write("\nAll people, firms and buildings are invented. Ctrl-C stops.\n")
        self.stdout.flush()

    def _serve(self, port: int) -> None:
        command = [sys.executable, "-m", "gunicorn", "config.wsgi", "--bind", f"{ADDRESS}:{port}"]
        command += ["--workers", "2", "--log-level", "warning", "--chdir", str(settings.BASE_DIR)]
        # In a session of its own, so that Ctrl-C reaches it once, and by way of this process.
        server = subprocess.Popen(command, start_new_session=True)
        worker = subprocess.Popen(
            [sys.executable, str(settings.BASE_DIR / "manage.py"), "worker", "--verbosity", "0"],
            start_new_session=True,
        )
        # Whoever ends this process by a signal means the server as well.
        signal.signal(signal.SIGTERM, signal.default_int_handler)
        try:
            code = server.wait()
        except KeyboardInterrupt:
            server.terminate()
            code = server.wait()
        finally:
            worker.terminate()
            worker.wait()
        if code:
            raise CommandError(f"The server stopped with status {code}; its message is above.")
        self.stdout.write("\nStopped. Nothing is lost: `make demo` goes on where you left off.\n")


def _collected() -> bool:
    """Say whether the static files were collected after the last change to them or their making."""
    manifest = settings.STATIC_ROOT / "staticfiles.json"
    if not manifest.is_file():
        return False
    made = manifest.stat().st_mtime
    sources = ("static", "config/static", "requirements.txt")
    folders = [settings.BASE_DIR / name for name in sources]
    files = [path for folder in folders for path in (folder, *folder.rglob("*"))]
    return all(path.stat().st_mtime <= made for path in files)


def _taken(port: int) -> bool:
    with socket.socket() as probe:
        probe.settimeout(1)
        return probe.connect_ex((ADDRESS, port)) == 0
