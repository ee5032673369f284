"""The site log of a run, day by day: notes with their corrections, photographs, mortar, curing."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime
from zoneinfo import ZoneInfo

from training.models import CourseRun, Curing, LogNote, LogPhoto, MortarBatch, Person
from training.queries.sitelog_scope import keeps_log


@dataclass
class LogEntry:
    """A note as it stands now, the ones it corrected from the first on, photographs of all."""

    note: LogNote
    earlier: list[LogNote] = field(default_factory=list)
    photos: list[LogPhoto] = field(default_factory=list)

    @property
    def first(self) -> LogNote:
        """The note as it was first written."""
        return self.earlier[0] if self.earlier else self.note


@dataclass
class LogDay:
    """What the log has of one day of the site's calendar; a curing stands at its first day."""

    day: date
    entries: list[LogEntry] = field(default_factory=list)
    batches: list[MortarBatch] = field(default_factory=list)
    curings: list[Curing] = field(default_factory=list)


def log_of(run: CourseRun, reader: Person | None = None) -> list[LogDay]:
    """Return the days of the log on which there is something, the earliest first (four queries).

    With ``reader``, only what that person may see (one query more). Days are the site's.
    """
    zone = ZoneInfo(run.site.time_zone)
    days: dict[date, LogDay] = {}

    def on(at: datetime) -> LogDay:
        day = at.astimezone(zone).date()
        return days.setdefault(day, LogDay(day))

    for entry in entries_of(run, reader):
        on(entry.note.at).entries.append(entry)
    for batch in run.batches.select_related("by"):
        on(batch.mixed_at).batches.append(batch)
    for curing in run.curings.select_related("by", "batch"):
        on(curing.started_at).curings.append(curing)
    return [days[day] for day in sorted(days)]


def entries_of(run: CourseRun, reader: Person | None = None) -> list[LogEntry]:
    """Return the notes of a run that nothing replaces, in the order of what they are about.

    Two queries; with ``reader``, only what that person may see (one more).
    """
    notes = LogNote.objects.filter(run=run).select_related("by").prefetch_related("photos")
    entries = chained(notes)
    if reader is not None and not keeps_log(reader, run):
        entries = [entry for entry in entries if entry.first.by_id == reader.pk]
    return entries


def entry_of(note: LogNote) -> LogEntry:
    """Return the note as it stands now with all its corrections, whichever of them ``note`` is."""
    notes = LogNote.objects.filter(run=note.run_id).select_related("by")
    for entry in chained(notes.prefetch_related("photos")):
        if note.pk in {entry.note.pk, *(each.pk for each in entry.earlier)}:
            return entry
    raise LookupError(f"The run has no note {note.pk}.")


def chained(notes: Iterable[LogNote]) -> list[LogEntry]:
    """Put each note behind the ones that it corrects; ``notes`` are all of a run."""
    by_key = {note.pk: note for note in notes}
    replaced = {note.replaces_id for note in by_key.values()}
    entries = []
    for note in by_key.values():
        if note.pk in replaced:
            continue
        earlier: list[LogNote] = []
        older = note.replaces_id
        while older is not None:
            earlier.insert(0, by_key[older])
            older = by_key[older].replaces_id
        photos = [photo for each in (*earlier, note) for photo in each.photos.all()]
        entries.append(LogEntry(note, earlier, photos))
    return sorted(entries, key=lambda entry: (entry.note.at, entry.note.written_at))


def photographs_of_run(run: CourseRun) -> list[LogPhoto]:
    """Return every photograph of the log, in the order of the notes (two queries).

    ``note`` of each is the note as it stands now, so its stage, grid reference and moment are
    the corrected ones. Whose ``people`` is set shows somebody who can be recognised: it may
    leave the provider only with the consent of those.
    """
    found = []
    for entry in entries_of(run):
        for photo in entry.photos:
            photo.note = entry.note
            found.append(photo)
    return found


def photo_bytes(photo: LogPhoto) -> bytes | None:
    """Return the JPEG of a photograph; None where its file is there no longer (an erasure)."""
    try:
        with photo.file.open("rb") as file:
            content: bytes = file.read()
    except (FileNotFoundError, ValueError):
        return None
    return content
