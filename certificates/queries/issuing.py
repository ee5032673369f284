"""Who on a run gets a record, who has one, and how far the making of the others is."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Prefetch
from django.utils import timezone

from assessments.models import Attempt, Decision
from assessments.queries.attempts import Standing
from certificates.models import IssueItem, Record
from training.models import CourseRun, Person

# A record takes seconds; a queue in which nothing moves for this long has no worker.
QUIET = timedelta(minutes=1)


@dataclass(frozen=True)
class IssueRow:
    """A trainee's standing, the record of it, and the item that was last in the queue for it.

    ``own``: the trainee is the reader, who cannot issue it.
    """

    standing: Standing
    record: Record | None
    item: IssueItem | None
    own: bool

    @property
    def state(self) -> str:
        """issued, waiting, working, refused (can be asked for again), ready, own, void or none."""
        decision = self.standing.decision
        if self.record:
            return "issued"
        if self.item and self.item.state in IssueItem.UNFINISHED:
            return self.item.state
        if decision is None:
            latest = self.standing.latest
            return "void" if latest and latest.state == Attempt.State.VOID else "none"
        if decision.result != Decision.Result.MET:
            return "none"
        if self.own:
            return "own"
        return "refused" if self.item and self.item.state == IssueItem.State.REFUSED else "ready"


@dataclass(frozen=True)
class Progress:
    """How many trainees of a run are at which point.

    ``quiet``: some wait, and nothing moved for a minute.
    """

    issued: int
    to_go: int
    refused: int
    ready: int
    quiet: bool

    @property
    def done(self) -> int:
        """How many of those asked for came to an end, one way or the other."""
        return self.issued + self.refused

    @property
    def asked(self) -> int:
        """How many are issued, were refused, or are in the queue."""
        return self.done + self.to_go

    @property
    def can_ask(self) -> int:
        """How many records can be asked for now."""
        return self.ready + self.refused


def issue_rows(run: CourseRun, person: Person) -> list[IssueRow]:
    """Return every enrolment of ``run`` by name, as ``person`` sees it (five queries)."""
    decisions = Prefetch("decisions", Decision.objects.defer("document", "observations"))
    attempts = Attempt.objects.order_by("-number").prefetch_related(decisions)
    enrolments = (
        run.enrolments.select_related("person")
        .order_by("person__full_name", "pk")
        .prefetch_related(Prefetch("attempts", attempts))
    )
    of_run = {"decision__attempt__enrolment__run": run}
    records = {
        record.decision_id: record
        for record in Record.objects.filter(replaced_by=None, **of_run).only("number", "decision")
    }
    # The latest item of a decision comes last.
    items = {item.decision_id: item for item in IssueItem.objects.filter(**of_run).order_by("pk")}
    rows = []
    for enrolment in enrolments:
        standing = Standing(enrolment, list(enrolment.attempts.all()))
        decision = standing.decision.pk if standing.decision else None
        rows.append(
            IssueRow(
                standing,
                records.get(decision) if decision else None,
                items.get(decision) if decision else None,
                enrolment.person_id == person.pk,
            )
        )
    return rows


def issuable_decisions(run: CourseRun, person: Person) -> list[Decision]:
    """Return the decisions of ``run`` whose record ``person`` can ask for now."""
    return [
        row.standing.decision
        for row in issue_rows(run, person)
        if row.standing.decision and row.state in ("ready", "refused")
    ]


def progress_of(rows: Sequence[IssueRow], now: datetime | None = None) -> Progress:
    """Count ``rows``; asks nothing of the database."""
    states = [row.state for row in rows]
    to_go = states.count("waiting") + states.count("working")
    moved = max((row.item.changed_at for row in rows if row.item), default=None)
    return Progress(
        issued=states.count("issued"),
        to_go=to_go,
        refused=states.count("refused"),
        ready=states.count("ready"),
        quiet=bool(to_go and moved and moved < (now or timezone.now()) - QUIET),
    )
