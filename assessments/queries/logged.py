"""What of the site log shows something of an attempt, and the hold points that were accepted."""

import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from assessments.models import Attempt, LoggedEvidence, Observation
from assessments.queries.scope import attempts_visible_to, may_assess
from assessments.subjects import HOLD_POINT
from training.models import CourseRun, LogNote, LogPhoto, Person
from training.queries.sitelog import LogEntry, chained, entry_of
from training.queries.sitelog_scope import photos_visible_to


@dataclass(frozen=True)
class Shown:
    """A note that shows something, as it was when that was said, with its photographs.

    ``corrected`` is what it says now, where it was corrected afterwards.
    """

    evidence: LoggedEvidence
    note: LogNote
    photos: Sequence[LogPhoto]
    corrected: LogNote | None


Logged = Mapping[tuple[str, str], Sequence[Shown]]


@dataclass(frozen=True)
class HoldPoint:
    """That a hold point was accepted: of whose piece, by whom, and when as the device says."""

    at: datetime
    stage: str
    title: str
    attempt: Attempt
    by: Person


def logged_of(attempt: Attempt) -> Logged:
    """Return what the log shows of an attempt, by (kind, key) of the subject (three queries)."""
    rows = list(
        LoggedEvidence.objects.filter(attempt=attempt).select_related("note", "by").order_by("at")
    )
    if not rows:
        return {}
    entries = _entries({row.note.run_id for row in rows})
    found: dict[tuple[str, str], list[Shown]] = {}
    for row in rows:
        entry = entries[row.note_id]
        note = next(each for each in (*entry.earlier, entry.note) if each.pk == row.note_id)
        corrected = entry.note if entry.note.pk != note.pk else None
        found.setdefault((row.subject_kind, row.subject_key), []).append(
            Shown(row, note, entry.photos, corrected)
        )
    return found


def hold_points_of(run: CourseRun, reader: Person | None = None) -> list[HoldPoint]:
    """Return the hold points accepted on a run, the earliest first (two queries; with ``reader``
    three: a trainee is told the own ones, once the attempt is decided)."""
    rows = Observation.objects.filter(
        attempt__enrolment__run=run, subject_kind=HOLD_POINT, replaced_by__isnull=True
    ).select_related("attempt__standard", "attempt__enrolment__person", "assessor")
    if reader is not None and not may_assess(reader, run):
        rows = rows.filter(attempt__enrolment__person=reader, attempt__state=Attempt.State.DECIDED)
    return [
        HoldPoint(row.device_time, row.subject_key, _stage_title(row), row.attempt, row.assessor)
        for row in rows.order_by("device_time", "pk")
        if row.value.get("accepted") is True
    ]


def log_photo_visible_to(person: Person, pk: uuid.UUID) -> LogPhoto | None:
    """Return a photograph of a visible note, or one that an own decided attempt rests on.

    None where ``person`` may not know that it is there (at most four queries).
    """
    photo = photos_visible_to(person).filter(pk=pk).first()
    if photo is not None:
        return photo
    photo = LogPhoto.objects.select_related("note").filter(pk=pk).first()
    own = attempts_visible_to(person).filter(state=Attempt.State.DECIDED).order_by()
    if photo is None or not own.filter(enrolment__run=photo.note.run_id).exists():
        return None
    entry = entry_of(photo.note)
    notes = [entry.note.pk, *(note.pk for note in entry.earlier)]
    shown = LoggedEvidence.objects.filter(attempt__in=own, note__in=notes).exists()
    return photo if shown else None


def _entries(runs: set[uuid.UUID]) -> dict[uuid.UUID, LogEntry]:
    notes = LogNote.objects.filter(run__in=runs).select_related("by").prefetch_related("photos")
    found: dict[uuid.UUID, LogEntry] = {}
    for entry in chained(notes):
        for note in (*entry.earlier, entry.note):
            found[note.pk] = entry
    return found


def _stage_title(row: Observation) -> str:
    stages = row.attempt.standard.document["stages"]
    return next((str(each["title"]) for each in stages if each["key"] == row.subject_key), "")
