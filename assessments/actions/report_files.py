"""Making the files of training reports in the background, and taking up what a dead worker left."""

import hashlib
import logging
from datetime import timedelta
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any
from uuid import UUID

from django.core.files import File
from django.db import transaction
from django.db.models import Q, QuerySet
from django.utils import timezone
from django.utils.translation import gettext_noop as N_
from django_tasks import TaskResultStatus
from django_tasks_db.models import DBTaskResult

from assessments.models import ReportFile
from assessments.tasks import make_report
from assessments.trainingreport.apart import BROKEN, NotMade, Stopped, render_apart
from assessments.trainingreport.job import write_job
from training.actions.log import write_log

log = logging.getLogger(__name__)

# Whoever makes a file tells so every few seconds. After this silence another one takes it up.
LEASE = timedelta(minutes=2)
# A file that was asked for so long ago and is still not made is given up.
PATIENCE = timedelta(hours=6)
GIVEN_UP = N_(
    "This was begun again and again and never came to an end. Whoever runs the server finds the "
    "reason in the log of the workers; ask for the report again once it is mended."
)
BLOCK = 1 << 20
State = ReportFile.State


def make_file(file_id: str) -> None:
    """Make the PDF of a file's frozen document, in a process of its own; note how it ended.

    Does nothing where it is made already, or another worker is at it. A worker may be killed at
    any moment: ``take_up_files`` then puts the file in the queue again.
    """
    file = _take(UUID(file_id))
    if file is None:
        return
    beat = _Beat(file)
    try:
        with TemporaryDirectory(prefix="bankermark-report-") as folder:
            job = write_job(Path(folder), file.document)
            _keep(file, beat, render_apart(job, beat))
    except Stopped:
        log.warning("report file %s was taken over by another worker", file_id)
    except NotMade as reason:
        _fail(beat, str(reason))
    except Exception:
        _fail(beat, BROKEN)
        raise


@transaction.atomic
def take_up_files(lease: timedelta = LEASE) -> int:
    """Put files in the queue again that nobody works on any longer; return how many."""
    now = timezone.now()
    quiet = Q(state=State.WAITING) | Q(state=State.MAKING, taken_at__lte=now - lease)
    left = 0
    for file in ReportFile.objects.select_for_update(skip_locked=True).filter(quiet):
        tasks = _tasks_of(file)
        if tasks.filter(status=TaskResultStatus.READY).exists():
            continue
        running = tasks.filter(status=TaskResultStatus.RUNNING)
        if file.state == State.WAITING and running.filter(started_at__gt=now - lease).exists():
            continue
        running.update(
            status=TaskResultStatus.FAILED,
            finished_at=now,
            traceback="The worker was gone; the report was put in the queue again.",
        )
        if file.asked_at <= now - PATIENCE:
            file.state, file.error = State.FAILED, GIVEN_UP
            file.save(update_fields=["state", "error"])
            continue
        make_report.enqueue(str(file.pk))
        left += 1
    return left


def unfinished_files() -> bool:
    """Say whether a file waits or is being made (one query)."""
    return ReportFile.objects.filter(state__in=(State.WAITING, State.MAKING)).exists()


class _Beat:
    """Tells that a file is being made, and how far; ``taken_at`` in the row is this worker's mark.

    Called with the steps done. Returns False when the row bears another mark: another worker
    took the file over, since nothing was heard from this one for long.
    """

    def __init__(self, file: ReportFile) -> None:
        self.pk, self.mark = file.pk, file.taken_at

    def __call__(self, done: int) -> bool:
        now = timezone.now()
        told = self.mine().update(done=done, taken_at=now)
        self.mark = now
        return told == 1

    def mine(self) -> QuerySet[ReportFile]:
        """Return the row while it bears this worker's mark, else nothing."""
        return ReportFile.objects.filter(pk=self.pk, state=State.MAKING, taken_at=self.mark)


def _take(pk: UUID) -> ReportFile | None:
    """Return the file, marked as being made by this worker; None where there is nothing to do."""
    now = timezone.now()
    with transaction.atomic():
        file = (
            ReportFile.objects.select_for_update(skip_locked=True)
            .filter(
                Q(state=State.WAITING) | Q(state=State.MAKING, taken_at__lte=now - LEASE), pk=pk
            )
            .first()
        )
        if file is not None:
            file.state, file.taken_at, file.done = State.MAKING, now, 0
            file.save(update_fields=["state", "taken_at", "done"])
    return file


def _keep(file: ReportFile, beat: _Beat, made: Path) -> None:
    """Store the PDF, then its row, unless another worker took the file over meanwhile."""
    sha256 = hashlib.sha256()
    with made.open("rb") as pdf:
        while block := pdf.read(BLOCK):
            sha256.update(block)
        pdf.seek(0)
        field = file._meta.get_field("pdf")
        name = field.generate_filename(file, f"training-report-{file.pk}.pdf")
        stored = file.pdf.storage.save(name, File(pdf))
    with transaction.atomic():
        kept = beat.mine().update(
            state=State.READY,
            done=file.parts,
            pdf=stored,
            pdf_sha256=sha256.hexdigest(),
            ready_at=timezone.now(),
        )
        if kept:
            data = {"number": file.number, "pdf_sha256": sha256.hexdigest()}
            write_log(actor=file.asked_by, verb="report.made", subject=file, data=data)
    if not kept:
        file.pdf.storage.delete(stored)


def _fail(beat: _Beat, reason: str) -> None:
    beat.mine().update(state=State.FAILED, error=reason[:500])


def _tasks_of(file: ReportFile) -> "QuerySet[DBTaskResult[Any, Any]]":
    return DBTaskResult.objects.filter(
        task_path=make_report.module_path, args_kwargs__args__contains=[str(file.pk)]
    )
