"""How a record stands on a day, in one word that every page uses."""

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from django.db.models import Prefetch, QuerySet
from django.utils import timezone

from certificates.models import Doubt, Record, StatusChange
from training.dates import end_of_day

SOON = timedelta(days=90)

CURRENT = "current"
LAPSES_SOON = "lapses_soon"
LAPSED = "lapsed"
REPLACED = "replaced"
SUSPENDED = "suspended"
WITHDRAWN = "withdrawn"
DOUBTFUL = "doubtful"
NOT_ISSUED = "not_issued"  # on the day that was asked about


@dataclass(frozen=True)
class Standing:
    """``word`` is one of the constants above; the rest is what that word needs to be told.

    ``since`` is when the record was suspended, withdrawn, replaced or became doubtful.
    ``decided_anew_at`` is given for a withdrawal that nobody made: the decision behind the
    record was made anew. ``doubtful_from`` is the moment from which the key was not safe.
    """

    word: str
    valid_until: date | None = None
    replaced_by: str | None = None
    decided_anew_at: datetime | None = None
    since: datetime | None = None
    doubtful_from: datetime | None = None

    @property
    def counts(self) -> bool:
        """Whether the record holds on that day."""
        return self.word in (CURRENT, LAPSES_SOON)


def with_standing(records: QuerySet[Record]) -> QuerySet[Record]:
    """Fetch what ``standing_of`` looks at, so that it asks the database nothing more.

    Two queries more than that of ``records``, however many these are.
    """
    return (
        records.select_related(
            "replaced_by", "decision__replaced_by", "decision__attempt__enrolment__run__site"
        )
        .prefetch_related(
            Prefetch("status_changes", StatusChange.objects.order_by("number")),
            Prefetch("doubts", Doubt.objects.select_related("compromise")),
        )
        .defer(
            "document",
            "replaced_by__document",
            "decision__document",
            "decision__observations",
            "decision__replaced_by__document",
            "decision__replaced_by__observations",
        )
    )


def standing_of(record: Record, at: date | datetime | None = None) -> Standing:
    """Return how ``record`` stands at the aware instant ``at``, as far as is known today.

    A date means the end of that day at the record's site; None means now. What came later
    than ``at`` is left out. A withdrawal comes before everything else; then a later record in
    its place; then a decision made anew without a record of it, which withdraws it too; then
    a suspension, a doubtful key, and the last day of validity, which still counts.
    """
    zone = ZoneInfo(_zone(record))
    moment = _moment(at, zone)
    day = timezone.localdate(timezone=zone) if at is None else moment.astimezone(zone).date()
    until = record.valid_until
    if record.issued_at > moment:
        return Standing(NOT_ISSUED, until)
    change = _last(list(record.status_changes.all()), moment)
    if change is not None and change.change == StatusChange.Change.WITHDRAWN:
        return Standing(WITHDRAWN, until, since=change.at)
    successor = getattr(record, "replaced_by", None)
    if successor is not None and successor.issued_at <= moment:
        return Standing(REPLACED, until, replaced_by=successor.number, since=successor.issued_at)
    anew = getattr(record.decision, "replaced_by", None)
    if anew is not None and anew.decided_at <= moment:
        return Standing(WITHDRAWN, until, decided_anew_at=anew.decided_at, since=anew.decided_at)
    if change is not None and change.change == StatusChange.Change.SUSPENDED:
        return Standing(SUSPENDED, until, since=change.at)
    doubts = [doubt.compromise for doubt in record.doubts.all() if doubt.compromise.at <= moment]
    if doubts:
        return Standing(
            DOUBTFUL,
            until,
            since=min(compromise.at for compromise in doubts),
            doubtful_from=min(compromise.doubtful_from for compromise in doubts),
        )
    return _by_day(until, day)


def _by_day(until: date | None, day: date) -> Standing:
    if until is None:
        return Standing(CURRENT)
    if until < day:
        return Standing(LAPSED, until)
    return Standing(LAPSES_SOON if until - day <= SOON else CURRENT, until)


def _last(changes: list[StatusChange], moment: datetime) -> StatusChange | None:
    made = [change for change in changes if change.at <= moment]
    return max(made, key=lambda change: change.number, default=None)


def _moment(at: date | datetime | None, zone: ZoneInfo) -> datetime:
    """Return the instant up to which facts count; now, all that are known do."""
    if at is None:
        # Another machine's clock may be a little ahead of this one.
        return datetime.max.replace(tzinfo=UTC)
    if isinstance(at, datetime):
        return at
    return end_of_day(at, zone)


def _zone(record: Record) -> str:
    return record.decision.attempt.enrolment.run.site.time_zone
