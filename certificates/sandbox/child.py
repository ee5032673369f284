"""The program of the process that reads one stranger's file and says what it found.

Run by ``apart`` with an empty environment. It loads no Django and no settings, so it holds
neither a connection to the database nor the passphrase of the keys.
"""

import sys
from io import BytesIO
from pathlib import Path

# The process starts in Python's isolated mode, which looks for nothing in the current folder.
sys.path.insert(0, str(Path(__file__).resolve().parent.parent.parent))

from pyhanko.pdf_utils.reader import PdfFileReader

from certificates.sandbox import limits, wire
from certificates.signing.verdict import Verdict
from certificates.signing.verify import LIMITS, verify


def main() -> None:
    """Read a job from standard input, write the verdict to standard output."""
    limits.confine()
    sys.stdout.buffer.write(wire.READY)
    sys.stdout.buffer.flush()
    job = wire.read_job(sys.stdin.buffer)
    found = verify(job.pdf, job.roots, now=job.now, stamp_roots=job.stamp_roots, crls=job.crls)
    if not found.genuine and _has_too_many_pages(job.pdf):
        found = Verdict([limits.TOO_MANY_PAGES])
    sys.stdout.buffer.write(wire.pack_verdict(found))
    sys.stdout.buffer.flush()


def _has_too_many_pages(pdf: bytes) -> bool:
    """Whether the page tree names more pages (ISO 32000-1, 7.7.3.2) than any record has."""
    try:
        reader = PdfFileReader(BytesIO(pdf), decode_limits=LIMITS)
        count = 0 if reader.encrypted else int(reader.root["/Pages"]["/Count"])
    except Exception:  # what cannot be read was told by the verdict already
        return False
    return count > limits.PAGES


if __name__ == "__main__":
    main()
