"""The program of the process that makes the PDF of one report; run by ``apart``.

It is given a folder and the memory that it may use. Of Django it has the place of the styles
alone: neither a connection to the database nor a secret.
"""

import json
import resource
import shutil
import sys
from pathlib import Path

# The process starts in Python's isolated mode, which looks for nothing in the current folder.
sys.path.insert(0, str(Path(__file__).resolve().parent.parent.parent))

from django.conf import settings

from assessments.trainingreport.wire import JOB, TOLD

PROCESSOR_SECONDS = 10 * 60


def main(folder: Path, memory: int) -> None:
    """Make the PDF of the job in ``folder`` with at most ``memory`` bytes of addresses."""
    for what, most in (
        (resource.RLIMIT_AS, memory),
        (resource.RLIMIT_CPU, PROCESSOR_SECONDS),
        (resource.RLIMIT_CORE, 0),
    ):
        resource.setrlimit(what, (most, most))
    # Refused tells its message in a language, which without this asks for the list of apps.
    settings.configure(BASE_DIR=Path(__file__).resolve().parent.parent.parent, USE_I18N=False)
    from assessments.trainingreport.rendering import render_report
    from training.errors import Refused

    job = json.loads((folder / JOB).read_text())
    try:
        render_report(job, folder, lambda done: print(done, flush=True))
    except Refused as refused:
        print(f"{TOLD}{refused.message}", flush=True)


if __name__ == "__main__":
    here = Path(sys.argv[1])
    try:
        main(here, int(sys.argv[2]))
    except BrokenPipeError:
        # The worker that asked was killed, so that nobody else clears away the photographs.
        shutil.rmtree(here, ignore_errors=True)
        sys.exit(1)
