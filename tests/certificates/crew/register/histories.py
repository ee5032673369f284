"""Drawn histories of records, and what the Python of the product says of each on a day."""

from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import Prefetch
from django.utils import timezone
from hypothesis import strategies as st

from assessments.engine.qualification import Confirmed, Continuity, kept
from certificates.models import Confirmation, Record
from certificates.queries.standing import standing_of, with_standing
from tests.certificates.crew.builders import decided, record_for, take_back
from tests.certificates.status.builders import change, compromise, withdraw
from training.models import Organisation, Person, Program

# Days on which a clock or a calendar does something: summer time begins or ends in New York,
# London and Santiago (there at midnight, so that an hour of the evening comes twice); leap days.
DAYS = [
    date(2027, 3, 14), date(2027, 11, 7), date(2027, 3, 28), date(2026, 10, 25),
    date(2027, 4, 3), date(2026, 9, 5), date(2028, 2, 29), date(2024, 2, 29),
    date(2026, 8, 31), date(2026, 12, 31),
]  # fmt: skip

CHANGES = ["suspended", "restored", "withdrawn", "corrected", "anew", "anew_record", "doubted"]
STATUS = ("suspended", "restored", "withdrawn")
KINDS = [*CHANGES, *["confirmed"] * 8, "retracted", "suspended", "restored", "corrected", "doubted"]


@dataclass(frozen=True)
class Step:
    """Something that happens ``hours`` after the step before."""

    kind: str
    hours: int
    ago: int  # confirmed: days from the work to the signature; retracted: which of them


@dataclass(frozen=True)
class History:
    """A record of course number ``course``, and what became of it."""

    course: int
    issued_at: datetime
    valid_days: int | None
    steps: list[Step] = field(default_factory=list)


steps = st.builds(
    Step,
    kind=st.sampled_from(KINDS),
    hours=st.one_of(st.integers(0, 48), st.integers(0, 24 * 250)),
    ago=st.one_of(st.integers(0, 5), st.integers(0, 220)),
)
# Chains alone, with signatures now in time and now too late.
signatures = st.builds(
    Step,
    kind=st.sampled_from(["confirmed"] * 6 + ["retracted"]),
    hours=st.integers(0, 24 * 60),
    ago=st.sampled_from([0, 1, 10, 31, 60, 100]),
)
instants = st.builds(
    lambda day, hours: datetime.combine(day, time(), UTC) + timedelta(hours=hours),
    st.sampled_from(DAYS),
    st.integers(-14, 38),
)


def histories(courses: int) -> st.SearchStrategy[list[History]]:
    """Return histories of one to three records, under so many courses."""
    one = st.builds(
        History,
        course=st.integers(0, courses - 1),
        issued_at=instants,
        valid_days=st.one_of(st.none(), st.integers(0, 300), st.integers(0, 1100)),
        steps=st.one_of(st.lists(steps, max_size=9), st.lists(signatures, min_size=2, max_size=9)),
    )
    return st.lists(one, min_size=1, max_size=3)


@dataclass(frozen=True)
class Scene:
    """Who a history happens to; every guard against dating back has to be lifted before."""

    holder: Person
    lead: Person
    second: Person
    employer: Organisation

    def live(self, history: History, program: Program) -> None:
        """Save what the history tells."""
        zone = ZoneInfo(program.runs.get().site.time_zone)
        until = None
        if history.valid_days is not None:
            until = history.issued_at.date() + timedelta(days=history.valid_days)
        record = record_for(self.holder, program, issued_at=history.issued_at, valid_until=until)
        moment = history.issued_at
        for step in history.steps:
            moment += timedelta(hours=step.hours, seconds=1)
            if step.kind == "confirmed":
                self._confirm(record, moment.astimezone(zone).date(), step.ago)
            elif step.kind == "retracted":
                self._retract(record, moment, step.ago)
            else:
                record = self._change(record, step.kind, moment)

    def _change(self, record: Record, kind: str, moment: datetime) -> Record:
        same: dict[str, Any] = {"issued_at": moment, "valid_until": record.valid_until}
        program = record.decision.attempt.enrolment.run.program
        if kind in STATUS and record.status_changes.filter(change="withdrawn").exists():
            return record  # nothing comes after a withdrawal, which the database holds
        if kind in ("suspended", "restored"):
            change(record, kind, self.lead, at=moment)
        elif kind == "withdrawn":
            withdraw(record, self.lead, self.second, at=moment)
        elif kind == "doubted":
            doubtful = moment - timedelta(days=30)
            compromise(record, self.lead, at=moment, doubtful_from=doubtful)
        elif kind == "corrected":
            return record_for(self.holder, program, replaces=record, **same)
        elif not hasattr(record.decision, "replaced_by"):
            anew = decided(self.holder, program, replaces=record.decision, decided_at=moment)
            if kind == "anew_record":
                return record_for(self.holder, program, replaces=record, decision=anew, **same)
        return record

    def _confirm(self, record: Record, signed_on: date, ago: int) -> None:
        Confirmation.objects.create(
            attempt=record.decision.attempt,
            record=record,
            organisation=self.employer,
            project_name="Work on the north face",
            worked_on=signed_on - timedelta(days=ago),
            signed_on=signed_on,
            signed_by=self.lead,
        )

    def _retract(self, record: Record, moment: datetime, which: int) -> None:
        given = list(record.decision.attempt.confirmations.filter(retraction=None))
        if given:
            take_back(given[which % len(given)], at=moment)


@dataclass(frozen=True)
class Told:
    """What a record's word and days are, by ``standing_of`` and by the engine's ``kept``."""

    word: str
    confirm_by: date | None
    counts_from: date
    counts_until: date | None


BY_DAY = ("current", "lapses_soon", "lapsed")


def all_records() -> list[Record]:
    """Return every record with all that ``told`` and ``listed`` look at."""
    given = Prefetch(
        "decision__attempt__confirmations", Confirmation.objects.select_related("retraction")
    )
    return list(with_standing(Record.objects.all()).prefetch_related(given, "decision__records"))


def told(record: Record, at: date | None, continuity: Continuity | None) -> Told:
    """Return what the Python says of one of ``all_records``; it asks the database nothing."""
    zone = zone_of(record)
    standing = standing_of(record, at)
    start = min(one.issued_at for one in record.decision.records.all()).astimezone(zone).date()
    chain = kept(
        continuity,
        start=start,
        valid_until=record.valid_until,
        confirmations=_known(record, at),
        on=at or timezone.localdate(timezone=zone),
    )
    word, until = standing.word, chain.counts_until
    if word not in BY_DAY:
        until = start - timedelta(days=1)
    elif chain.word not in ("kept", "not_yet"):
        word = chain.word
    asked = chain.due
    if record.valid_until and asked and record.valid_until <= asked:
        asked = None
    return Told(word, asked, start, until)


def _known(record: Record, at: date | None) -> list[Confirmed]:
    end = datetime.max.replace(tzinfo=UTC)
    if at is not None:
        end = datetime.combine(at, time.max.replace(fold=1), tzinfo=zone_of(record))
    return [
        Confirmed(one.worked_on, one.signed_on)
        for one in record.decision.attempt.confirmations.all()
        if not (hasattr(one, "retraction") and one.retraction.at <= end)
    ]


def listed(records: list[Record], at: date | None) -> set[UUID]:
    """Return the keys of ``all_records`` that are to be listed on that day."""
    issued = {record.pk for record in records if standing_of(record, at).word != "not_issued"}
    replaced = {record.replaces_id for record in records if record.pk in issued}
    return issued - replaced


def zone_of(record: Record) -> ZoneInfo:
    """Return the time zone of the record's site."""
    return ZoneInfo(record.decision.attempt.enrolment.run.site.time_zone)
