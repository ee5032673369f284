"""The program of the process that makes the PDF of one report: ``python -m ... FOLDER``.

It opens no connection to the database. It prints the number of steps done, a line each, or
why it made nothing.
"""

import json
import resource
import shutil
import sys
from pathlib import Path
from typing import Any

import django

# Addresses, of which a report of 300 photographs uses some 600 MB with Python and the fonts.
MEMORY = 1536 * 1024 * 1024
PROCESSOR_SECONDS = 10 * 60


def main(folder: Path) -> None:
    """Make ``report.pdf`` of the job in ``folder``."""
    for what, most in (
        (resource.RLIMIT_AS, MEMORY),
        (resource.RLIMIT_CPU, PROCESSOR_SECONDS),
        (resource.RLIMIT_CORE, 0),
    ):
        resource.setrlimit(what, (most, most))
    django.setup()
    from assessments.trainingreport.apart import TOLD
    from assessments.trainingreport.job import JOB, MADE
    from assessments.trainingreport.rendering import render_report
    from training.errors import Refused

    document: dict[str, Any] = json.loads((folder / JOB).read_text())
    try:
        pdf = render_report(document, folder, lambda done: print(done, flush=True))
    except Refused as refused:
        print(f"{TOLD}{refused.message}", flush=True)
        return
    (folder / MADE).write_bytes(pdf)


if __name__ == "__main__":
    here = Path(sys.argv[1])
    try:
        main(here)
    except BrokenPipeError:
        # The worker that asked was killed, so that nobody else clears away the photographs.
        shutil.rmtree(here, ignore_errors=True)
        sys.exit(1)
