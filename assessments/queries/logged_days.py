"""The page of a run's site log: its days, with the hold points accepted on them, and filters."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from zoneinfo import ZoneInfo

from django.utils.translation import gettext_noop as N_

from assessments.models import LoggedEvidence, Stage
from assessments.queries.logged import HoldPoint, hold_points_of
from assessments.subjects import find_subject, subjects_of
from training.actions.sitelog.guards import SQUARE, tidy_grid
from training.models import CourseRun, Person
from training.queries.sitelog import LogDay, LogEntry, log_of

KINDS = (
    ("notes", N_("Notes")),
    ("photographs", N_("Photographs")),
    ("weather", N_("Weather and temperatures")),
    ("mortar", N_("Mortar")),
    ("curing", N_("Curing")),
    ("hold_points", N_("Hold points")),
)


@dataclass(frozen=True)
class Filters:
    """What is asked for; empty asks for everything. ``stage`` is a key, ``kind`` one of KINDS."""

    stage: str = ""
    grid: str = ""
    kind: str = ""

    @property
    def any(self) -> bool:
        """Whether anything is left out."""
        return bool(self.stage or self.grid or self.kind)


@dataclass
class ShownDay(LogDay):
    """A day of the log with the hold points that were accepted on it."""

    holds: list[HoldPoint] = field(default_factory=list)

    @property
    def empty(self) -> bool:
        """Whether nothing of it is shown."""
        return not (self.entries or self.batches or self.curings or self.holds)


def stages_of(run: CourseRun) -> list[tuple[str, str]]:
    """Return (key, title) of the stages of the run's task, in their order (one query)."""
    rows = Stage.objects.filter(task__program=run.program_id).order_by("position")
    return list(rows.values_list("key", "title"))


def shown_days(run: CourseRun, reader: Person, filters: Filters | None = None) -> list[ShownDay]:
    """Return the days on which there is something that ``reader`` may see, the latest first."""
    asked = filters or Filters()
    zone = ZoneInfo(run.site.time_zone)
    days: dict[date, ShownDay] = {
        day.day: ShownDay(day.day, day.entries, day.batches, day.curings)
        for day in log_of(run, reader)
    }
    for hold in hold_points_of(run, reader):
        day = hold.at.astimezone(zone).date()
        days.setdefault(day, ShownDay(day)).holds.append(hold)
    for shown in days.values():
        _leave_out(shown, asked)
    return [days[day] for day in sorted(days, reverse=True) if not days[day].empty]


@dataclass(frozen=True)
class Shows:
    """That a note is evidence of a subject of an attempt, with the subject's title."""

    evidence: LoggedEvidence
    title: str


def shows_of(entries: Iterable[LogEntry]) -> list[Shows]:
    """Return what the notes show, of which attempts (one query)."""
    notes = [note.pk for entry in entries for note in (*entry.earlier, entry.note)]
    rows = LoggedEvidence.objects.filter(note__in=notes).select_related(
        "attempt__standard", "attempt__enrolment__person", "by"
    )
    return [Shows(row, _title(row)) for row in rows]


def _title(row: LoggedEvidence) -> str:
    subjects = subjects_of(row.attempt.standard.document)
    found = find_subject(subjects, row.subject_kind, row.subject_key)
    return found.title if found else row.subject_key


def _leave_out(day: ShownDay, asked: Filters) -> None:
    grid = tidy_grid(asked.grid).casefold()
    day.entries = [each for each in day.entries if _fits(each, asked, grid)]
    # A batch belongs to no stage and no place, a curing to no stage, a hold point to no place.
    if asked.stage or grid or asked.kind not in ("", "mortar"):
        day.batches = []
    if asked.stage or asked.kind not in ("", "curing"):
        day.curings = []
    if grid or asked.kind not in ("", "hold_points"):
        day.holds = []
    day.curings = [each for each in day.curings if _at(each.grid, grid)]
    day.holds = [each for each in day.holds if asked.stage in ("", each.stage)]


def _fits(entry: LogEntry, asked: Filters, grid: str) -> bool:
    note = entry.note
    if asked.stage not in ("", note.stage_key) or not _at(note.grid, grid):
        return False
    if asked.kind == "photographs":
        return bool(entry.photos)
    if asked.kind == "weather":
        return bool(note.weather) or note.air_celsius is not None or note.wall_celsius is not None
    return asked.kind in ("", "notes")


def _at(place: str, asked: str) -> bool:
    """Say whether a place is what was asked for: C1 is not C11, but words need not be whole."""
    told = place.casefold()
    return not asked or asked == told or (SQUARE.fullmatch(asked) is None and asked in told)
