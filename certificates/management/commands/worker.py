"""manage.py worker: issue the records and make the reports that wait in the queue."""

import logging
import math
import time
from argparse import ArgumentParser, ArgumentTypeError
from datetime import timedelta
from typing import Any

from django.core.management import call_command
from django.core.management.base import BaseCommand
from django.db import InterfaceError, OperationalError, close_old_connections
from django.utils.crypto import get_random_string
from django_tasks import DEFAULT_TASK_BACKEND_ALIAS, DEFAULT_TASK_QUEUE_NAME
from django_tasks_db.management.commands.db_worker import Worker

from assessments.actions.report_files import take_up_files, unfinished_files
from certificates.actions.issue_run import LEASE, take_up_again
from certificates.actions.sweep import sweep_files
from certificates.models import IssueItem

log = logging.getLogger(__name__)

# After so many tasks the worker looks for what others left.
ROUND = 10
DAY = 24 * 60 * 60
NO_DATABASE = 5  # seconds until the database is tried again


class Command(BaseCommand):
    """Run the queue's own worker in rounds; between them take up what dead workers left."""

    worker: Worker | None = None
    help = (
        "Issue the records and make the reports that wait in the queue, until it is ended. Any "
        "number of workers may run, on any number of machines with the same database, storage and "
        "keys. SIGTERM or "
        "Ctrl-C ends one after the record in hand; one that is killed loses nothing."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take how long to wait, and when to end."""
        parser.add_argument(
            "--interval", type=_seconds, default=1.0, help="seconds between looks at an empty queue"
        )
        parser.add_argument(
            "--lease",
            type=_seconds,
            default=LEASE.total_seconds(),
            help="seconds after which a record in the hands of another worker is taken up again",
        )
        parser.add_argument(
            "--batch", action="store_true", help="end when all that was asked for is finished"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Work in rounds until a signal comes."""
        # It tells of every task and of each signal; what matters is on the page of the run.
        logging.getLogger("django_tasks_db").setLevel(logging.ERROR)
        if options["verbosity"]:
            self.stdout.write("Worker started. Ctrl-C ends it after the record in hand.")
            self.stdout.flush()
        name, tidied = get_random_string(32), -math.inf
        while True:
            try:
                if time.monotonic() - tidied > DAY:
                    _tidy()
                    tidied = time.monotonic()
                if not self._round(name, timedelta(seconds=options["lease"])):
                    return
                if options["batch"] and not _unfinished():
                    return
            except (OperationalError, InterfaceError):
                if self.worker is not None and not self.worker.running:
                    raise  # a signal came as well: the item is taken up by another worker
                log.exception("the database cannot be used; trying again in %s s", NO_DATABASE)
                close_old_connections()
                time.sleep(NO_DATABASE)
            time.sleep(options["interval"])

    def _round(self, name: str, lease: timedelta) -> bool:
        """Take up what was left, work through the queue; return False when a signal came."""
        while True:
            take_up_again(lease)
            take_up_files()
            worker = self.worker = Worker(
                queue_names=[DEFAULT_TASK_QUEUE_NAME],
                excluded_queue_names=[],
                interval=0,
                batch=True,
                backend_name=DEFAULT_TASK_BACKEND_ALIAS,
                startup_delay=False,
                max_tasks=ROUND,
                worker_id=name,
            )
            worker.configure_signals()
            worker.run()
            if worker._run_tasks < ROUND or not worker.running:
                return worker.running


def _tidy() -> None:
    sweep_files()
    call_command("prune_db_task_results", verbosity=0)


def _unfinished() -> bool:
    issuing = IssueItem.objects.filter(state__in=IssueItem.UNFINISHED)
    return issuing.exists() or unfinished_files()


def _seconds(text: str) -> float:
    try:
        seconds = float(text)
    except ValueError:
        seconds = math.nan
    if not 0 < seconds < DAY:
        raise ArgumentTypeError(f"{text!r}: write seconds, more than 0 and less than a day.")
    return seconds
