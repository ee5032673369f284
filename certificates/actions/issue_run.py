"""Issuing all records of a run in the background, and taking up what a dead worker left."""

from collections.abc import Sequence
from datetime import timedelta

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.db.models import Exists, OuterRef
from django.utils import timezone
from django.utils.translation import gettext as _
from django_tasks import TaskResultStatus
from django_tasks_db.models import DBTaskResult

from assessments.models import Decision
from assessments.queries.scope import may_assess
from certificates.models import IssueItem, IssueJob
from certificates.queries.issuing import issuable_decisions
from certificates.tasks import issue
from training.actions.log import write_log
from training.errors import Refused
from training.models import CourseRun, Person

# A record takes seconds. A worker that is slower than this loses the item to another one,
# which costs the time of both and doubles nothing.
LEASE = timedelta(minutes=2)


@transaction.atomic
def issue_run(*, actor: Person, run: CourseRun) -> IssueJob:
    """Put every record that can be issued on ``run`` in the queue; return the job.

    What is in the queue already is left there, so asking twice does nothing twice. Raises
    PermissionDenied for anybody but a lead or an instructor of the run, and Refused when there
    is no record to issue.
    """
    if not may_assess(actor, run):
        raise PermissionDenied(_("Only a lead or an instructor of the run issues its records."))
    # Two people at once: the second waits here, then finds the items of the first.
    CourseRun.objects.select_for_update(no_key=True).get(pk=run.pk)
    decisions = list(issuable_decisions(run, actor))
    if not decisions:
        raise Refused(_("No record of this run waits to be issued: the list says why for each."))
    return put_in_queue(actor=actor, run=run, decisions=decisions)


def put_in_queue(*, actor: Person, run: CourseRun, decisions: Sequence[Decision]) -> IssueJob:
    """Queue the records of ``decisions`` inside the caller's transaction; return the job.

    Whether ``actor`` may issue them is asked when each is made.
    """
    job = IssueJob.objects.create(run=run, asked_by=actor)
    items = IssueItem.objects.bulk_create(
        IssueItem(job=job, decision=decision) for decision in decisions
    )
    for item in items:
        _enqueue(item)
    write_log(
        actor=actor,
        verb="records.asked",
        subject=job,
        data={"run": str(run.pk), "decisions": [str(decision.pk) for decision in decisions]},
    )
    return job


@transaction.atomic
def take_up_again(lease: timedelta = LEASE) -> int:
    """Put items back in the queue that nobody works on any longer; return how many.

    The queue marks a task as running and never looks at it again, so the task of a worker that
    was killed would run for ever. An item is taken up when it is not finished, and its task is
    neither ready nor began within ``lease``.
    """
    now = timezone.now()
    alive = DBTaskResult.objects.filter(id=OuterRef("task"), status=TaskResultStatus.READY)
    begun = DBTaskResult.objects.filter(
        id=OuterRef("task"), status=TaskResultStatus.RUNNING, started_at__gt=now - lease
    )
    left = list(
        IssueItem.objects.select_for_update(skip_locked=True)
        .filter(~Exists(alive), ~Exists(begun), state__in=IssueItem.UNFINISHED)
        .order_by("pk")
    )
    DBTaskResult.objects.filter(
        id__in=[item.task for item in left], status=TaskResultStatus.RUNNING
    ).update(
        status=TaskResultStatus.FAILED,
        finished_at=now,
        traceback="The worker was gone; the record was put in the queue again.",
    )
    for item in left:
        _enqueue(item)
    return len(left)


def _enqueue(item: IssueItem) -> None:
    item.task = issue.enqueue(item.pk).id
    item.save(update_fields=["task"])
