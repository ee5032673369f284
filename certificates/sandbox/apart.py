"""Start the process that reads a stranger's file, wait for it, and never for long."""

import logging
import subprocess
import sys
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

from cryptography import x509

from certificates.sandbox import limits, wire
from certificates.signing import verdict
from certificates.signing.verdict import Verdict
from certificates.signing.verify import MAX_BYTES

log = logging.getLogger(__name__)

CHILD = Path(__file__).with_name("child.py")
# What a server process reads at once; who comes meanwhile waits a little.
AT_ONCE = 2
PATIENCE = 15.0
_places = threading.BoundedSemaphore(AT_ONCE)


class Busy(Exception):  # noqa: N818 - named for what was found
    """Too many files are being read here; the text is a sentence for who sent one."""


class NotStarted(Exception):  # noqa: N818 - named for what was found
    """The process could not be started: nothing was learned of the file."""


def verify_apart(
    pdf: bytes,
    roots: Sequence[x509.Certificate],
    *,
    now: datetime | None = None,
    stamp_roots: Sequence[x509.Certificate] = (),
    crls: Sequence[x509.CertificateRevocationList] = (),
) -> Verdict:
    """Return what ``certificates.signing.verify`` says, whatever ``pdf`` does to its reader.

    Raises Busy when the places stay taken for 15 s, NotStarted when the reader cannot run here.
    """
    if len(pdf) > MAX_BYTES:
        return Verdict([verdict.TOO_LARGE])
    if not pdf.startswith(b"%PDF-"):
        return Verdict([verdict.NOT_A_PDF])
    job = wire.Job(pdf, now or datetime.now(UTC), list(roots), list(stamp_roots), list(crls))
    with _place():
        return _run(wire.pack_job(job))


@contextmanager
def _place() -> Iterator[None]:
    if not _places.acquire(timeout=PATIENCE):
        raise Busy("Many files are being checked at this moment. Send yours again in a minute.")
    try:
        yield
    finally:
        _places.release()


def _run(job: bytes) -> Verdict:
    try:
        done = subprocess.run(
            [sys.executable, "-I", "-B", str(CHILD)],
            input=job,
            capture_output=True,
            timeout=limits.WALL_SECONDS,
            check=False,
            env={},
            cwd="/",
            start_new_session=True,
        )
    except subprocess.TimeoutExpired:
        log.warning("a file sent for checking was given up after %s s", limits.WALL_SECONDS)
        return Verdict([limits.TOO_SLOW])
    except OSError as error:
        raise NotStarted(str(error)) from error
    if not done.stdout.startswith(wire.READY):
        raise NotStarted(done.stderr.decode(errors="replace")[-2000:])
    if done.returncode:
        log.warning("a file sent for checking ended its reader with %s", done.returncode)
        return Verdict([limits.TOO_SLOW])
    try:
        return wire.read_verdict(done.stdout[len(wire.READY) :])
    except (ValueError, TypeError):
        log.exception("the reader of a file sent for checking gave no verdict")
        return Verdict([verdict.UNREADABLE])
