"""How much faster two workers issue the records of a run than one.

Run ``python -m tests.bench.bench_jobs [RECORDS]``. Each side issues as many records, from the wish
to the last one, with workers that have started and made a record before. A data folder of its
own with the embedded database, durable as on a server. On a machine with two processors, other
load takes from two workers what one would not have used: look at the load that is printed.
"""

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

import django

RECORDS = 200
PATIENCE = 60 * 60  # seconds


def main(records: int) -> None:
    """Print the seconds of both sides and their ratio."""
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as name:
        folder = Path(name)
        folder.chmod(0o711)  # the account of the database server passes
        with database(folder / "data"):
            one = seconds(folder / "data", records, workers=1)
            two = seconds(folder / "data", records, workers=2)
    load = ", ".join(f"{each:.1f}" for each in os.getloadavg())
    print(f"records                 {records} a side, {os.cpu_count()} processors, load {load}")
    print(f"one worker              {one:8.1f} s")
    print(f"two workers             {two:8.1f} s")
    print(f"ratio                   {one / two:8.3f}")


@contextmanager
def database(data: Path) -> Iterator[None]:
    """Set Django up on a database of its own; remove it after."""
    os.environ.pop("DATABASE_URL", None)  # a server in use is no place for measurements
    os.environ["BANKERMARK_DATA"] = str(data)
    os.environ["DJANGO_SETTINGS_MODULE"] = "config.settings"
    subprocess.run([sys.executable, "-m", "config.bootstrap"], check=True)
    django.setup()
    from django.conf import settings
    from django.core.management import call_command
    from django.db import connections

    from config.embedded.cluster import Cluster
    from config.embedded.members import leave, remove

    call_command("migrate", verbosity=0, interactive=False)
    try:
        yield
    finally:
        connections.close_all()
        cluster = Cluster(Path(settings.DATABASES["default"]["EMBEDDED"]["FOLDER"]), durable=True)
        leave(cluster)
        remove(cluster)


def seconds(data: Path, records: int, *, workers: int) -> float:
    """Return how long ``workers`` take for a run with so many records."""
    from certificates.actions.issue_run import issue_run  # needs the set-up above
    from tests.assessments.builders import make_yard
    from tests.certificates.jobs.builders import one_more
    from tests.certificates.jobs.processes import start_worker

    yard = make_yard()
    with ExitStack() as stack:
        for _ in range(workers):
            process = start_worker(data, "--interval", "0.1")
            stack.callback(process.wait)
            stack.callback(process.terminate)
        # Each worker makes a key, a font cache and its first pages before it is measured.
        for _ in range(3 * workers):
            one_more(yard)
        issue_run(actor=yard.lead, run=yard.run)
        wait(records=3 * workers)
        for _ in range(records):
            one_more(yard)
        begin = time.perf_counter()
        issue_run(actor=yard.lead, run=yard.run)
        wait(records=records)
        return time.perf_counter() - begin


def wait(*, records: int) -> None:
    """Wait until nothing is left in the latest job, and prove that all were issued."""
    from certificates.models import IssueItem, IssueJob

    items = IssueItem.objects.filter(job=IssueJob.objects.latest("pk"))
    end = time.monotonic() + PATIENCE
    while items.filter(state__in=IssueItem.UNFINISHED).exists():
        if time.monotonic() > end:
            raise TimeoutError("the records did not come to be")
        time.sleep(0.05)
    if items.filter(state=IssueItem.State.ISSUED).count() != records:
        raise RuntimeError("not all records were issued")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else RECORDS)
