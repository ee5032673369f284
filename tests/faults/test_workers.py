"""Workers are killed while they issue the records of a run: nothing is lost, nothing doubled."""

import contextlib
import random
import subprocess
import time
from collections import Counter
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from django.core.files.storage import default_storage

from assessments.models import Decision
from certificates.actions.issue_run import issue_run
from certificates.actions.sweep import sweep_files
from certificates.models import IssueItem, IssueJob, Record
from tests.assessments.builders import Yard
from tests.certificates.jobs.builders import assert_each_once, one_more, stored_files
from tests.certificates.jobs.processes import kill, start_worker
from tests.faults.marks import slow

pytestmark = [pytest.mark.faults, pytest.mark.django_db(transaction=True)]

LEASE = 4  # seconds; short, so that a worker that is only slow meets another one as well
PATIENCE = 60 * 60  # seconds; a run that never ends is a failure, not a hang


@pytest.mark.parametrize(
    ("number", "kills"),
    [pytest.param(4, 1, id="4"), pytest.param(200, 40, id="200", marks=slow)],
)
def test_workers_killed_at_random_moments(
    yard: Yard, tmp_path: Path, number: int, kills: int
) -> None:
    decisions = [one_more(yard) for _ in range(number)]
    job = issue_run(actor=yard.lead, run=yard.run)
    killed = work_and_kill(tmp_path, number, kills, random.Random(number))
    assert killed == kills
    assert Counter(job.items.values_list("state", flat=True)) == {"issued": number}
    assert_each_once(decisions)
    assert set(issued_of(job)) == set(decisions)
    orphans = sweep_files(youngest=timedelta(0))
    assert len(orphans) <= 2 * kills
    assert {path.name for path in stored_files()} == named_files()
    assert holders_told(tmp_path) == {d.attempt.enrolment.person.email for d in decisions}


def work_and_kill(data: Path, number: int, kills: int, chance: random.Random) -> int:
    """Let two workers run; kill one ``kills`` times while a record is being made.

    The kills are spread over the run of ``number`` records, so that each meets workers that
    have come up. Returns how many were alive when they were killed.
    """
    killed, end = 0, time.monotonic() + PATIENCE
    with contextlib.ExitStack() as stack:
        workers = [stack.enter_context(worker(data)) for _ in range(2)]
        while unfinished():
            if time.monotonic() > end:
                raise TimeoutError("the run never came to its end")
            due = killed < kills and count("issued") >= killed * number // (kills + 1)
            if due and count("working"):
                time.sleep(chance.uniform(0, 2))
                place = chance.randrange(2)
                killed += kill(workers[place])
                workers[place] = stack.enter_context(worker(data))
            time.sleep(0.05)
    return killed


@contextlib.contextmanager
def worker(data: Path) -> Iterator["subprocess.Popen[bytes]"]:
    """Run one worker; it is gone after the block."""
    process = start_worker(data, "--lease", str(LEASE), "--interval", "0.2")
    try:
        yield process
    finally:
        kill(process)


def count(state: str) -> int:
    """Return how many items are in ``state``."""
    return IssueItem.objects.filter(state=state).count()


def unfinished() -> bool:
    """Say whether a record waits or is being made."""
    return IssueItem.objects.filter(state__in=IssueItem.UNFINISHED).exists()


def issued_of(job: IssueJob) -> list[Decision]:
    """Return the decisions of the records that the items name."""
    return [item.record.decision for item in job.items.all() if item.record]


def named_files() -> set[str]:
    """Return the names of the files that records name, all of them there."""
    names = [name for pair in Record.objects.values_list("pdf", "competency") for name in pair]
    assert all(default_storage.exists(name) for name in names)
    return {Path(name).name for name in names}


def holders_told(data: Path) -> set[str]:
    """Return the addresses that e-mails were sent to."""
    lines = [
        line
        for path in (data / "mail").iterdir()
        for line in path.read_text(encoding="utf-8").splitlines()
    ]
    return {line.removeprefix("To: ") for line in lines if line.startswith("To: ")}
