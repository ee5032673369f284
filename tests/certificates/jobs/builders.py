"""Runs with many who met the standard, and a worker inside the test."""

import signal
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from unittest import mock

from django.conf import settings
from django.core.management import call_command

from assessments.models import Attempt, Decision
from certificates.models import Record
from certificates.stored import read_as_issued
from tests.assessments.builders import Yard
from tests.certificates.builders import decide_attempt
from tests.factories import enrol, make_person
from training.actions.log import verify_log
from training.models import LogEntry

SIGNALS = (signal.SIGINT, signal.SIGTERM, signal.SIGQUIT)


def one_more(yard: Yard, *, met: bool = True) -> Decision:
    """Return the decision on a new trainee."""
    attempt = Attempt.objects.create(
        enrolment=enrol(yard.run, make_person()),
        standard=yard.standard,
        number=1,
        started_by=yard.instructor,
    )
    return decide_attempt(attempt, yard.instructor, C3={"answer": met})


def work_off() -> None:
    """Run the worker until nothing is left, on the connection of the test."""
    with (
        handlers_kept(),
        # It would close a connection in a transaction, which is where most tests are.
        mock.patch("django_tasks_db.management.commands.db_worker.close_old_connections"),
        mock.patch("certificates.management.commands.worker.close_old_connections"),
    ):
        call_command("worker", "--batch", "--interval", "0.01", verbosity=0)


@contextmanager
def handlers_kept() -> Iterator[None]:
    """Put the handlers of signals back after the block."""
    before = {number: signal.getsignal(number) for number in SIGNALS}
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


def stored_files() -> list[Path]:
    """Return every file below ``records/`` in the storage."""
    folder = Path(settings.MEDIA_ROOT) / "records"
    return sorted(path for path in folder.rglob("*") if path.is_file())


def assert_each_once(decisions: list[Decision]) -> None:
    """Each decision has one record, with its file; serials have no gap; the log holds."""
    records = list(Record.objects.order_by("serial"))
    assert sorted(record.decision_id for record in records) == sorted(d.pk for d in decisions)
    assert [record.serial for record in records] == list(range(1, len(decisions) + 1))
    assert LogEntry.objects.filter(verb="record.issued").count() == len(decisions)
    assert verify_log() is None
    for record in records:
        assert read_as_issued(record).startswith(b"%PDF")
