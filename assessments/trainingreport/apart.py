"""Start the process that makes a PDF, listen to how far it is, and never wait for long."""

import logging
import os
import queue
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path

from django.utils.translation import gettext_noop as N_

from assessments.trainingreport.wire import MADE, TOLD

log = logging.getLogger(__name__)

CHILD = Path(__file__).with_name("child.py")
# Addresses: far more than a report of 300 photographs needs (tests/bench/bench_report.py).
MEMORY = 1024 * 1024 * 1024
# What the fonts' configuration asks of the environment.
PASSED = ("PATH", "HOME", "LANG", "LC_ALL", "TMPDIR", "XDG_CACHE_HOME", "FONTCONFIG_FILE")
# A report of 300 photographs takes less than a minute; a busy machine gets more.
WALL_SECONDS = 15 * 60.0
LISTEN_SECONDS = 5.0
TOO_LARGE = N_(
    "Making this report took more memory or time than a report may take. Choose fewer "
    "photographs, or leave out parts, and ask for it again."
)
# How Python and the loader of its libraries say that the memory is used up.
NO_MEMORY = (
    "memoryerror",
    "cannot allocate memory",
    "failed to map segment",
    "creating thread",
    "error return without exception set",
)
BROKEN = N_(
    "The report could not be made. Whoever runs the server finds the reason in the log of the "
    "workers; ask for the report again once it is mended."
)


class NotMade(Exception):  # noqa: N818 - named for what was found
    """No PDF came of it; the text is a sentence for who asked for the report."""


class Stopped(Exception):  # noqa: N818 - named for what was found
    """The caller did not want it any longer."""


def render_apart(
    folder: Path, tell: Callable[[int], bool], *, wall_seconds: float = WALL_SECONDS
) -> Path:
    """Return the PDF made of the job in ``folder``, in a process with bounded memory.

    ``tell`` is called with the number of steps done, at least every few seconds; once it
    returns False, the process is ended and Stopped raised. Raises NotMade with a reason.
    """
    errors = folder / "errors.txt"
    with (
        errors.open("wb") as told,
        subprocess.Popen(
            [sys.executable, "-I", "-B", str(CHILD), str(folder), str(MEMORY)],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=told,
            cwd="/",
            env={name: os.environ[name] for name in PASSED if name in os.environ},
            start_new_session=True,
            text=True,
        ) as process,
    ):
        try:
            refused = _listen(process, tell, time.monotonic() + wall_seconds)
        finally:
            process.kill()
    made = folder / MADE
    if refused:
        raise NotMade(refused)
    if process.returncode or not made.exists():
        said = errors.read_text(errors="replace")[-2000:]
        log.error("making a report ended with %s: %s", process.returncode, said)
        # A negative number is a signal, as at the limit of the processor's time.
        large = process.returncode < 0 or any(word in said.lower() for word in NO_MEMORY)
        raise NotMade(TOO_LARGE if large else BROKEN)
    return made


def _listen(process: "subprocess.Popen[str]", tell: Callable[[int], bool], until: float) -> str:
    """Pass on the steps until the process ends; return what it refused for, if it said so."""
    lines: queue.Queue[str | None] = queue.Queue()
    threading.Thread(target=_read, args=(process, lines), daemon=True).start()
    done, told = 0, 0.0
    while True:
        try:
            line = lines.get(timeout=LISTEN_SECONDS)
        except queue.Empty:
            line = ""
        if line is None:
            process.wait()
            return ""
        if line.startswith(TOLD):
            process.wait()
            return line.removeprefix(TOLD).strip()
        done = int(line) if line.strip().isdigit() else done
        if time.monotonic() > until:
            raise NotMade(TOO_LARGE)
        # A photograph takes milliseconds: a row in the database for each would be too many.
        if time.monotonic() - told >= 1:
            told = time.monotonic()
            if not tell(done):
                raise Stopped


def _read(process: "subprocess.Popen[str]", lines: "queue.Queue[str | None]") -> None:
    if process.stdout is not None:
        for line in process.stdout:
            lines.put(line)
    lines.put(None)
