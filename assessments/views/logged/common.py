"""What the pages of the site log have in common."""

import uuid
from zoneinfo import ZoneInfo

from django.core.exceptions import PermissionDenied
from django.shortcuts import get_object_or_404
from django.utils.translation import gettext as _

from training.models import CourseRun, Enrolment, LogNote, Person
from training.queries.consents import consents_of
from training.queries.scope import is_lead
from training.queries.sitelog import LogEntry, entry_of
from training.queries.sitelog_scope import log_runs_of, notes_visible_to, writes_notes

PARTS = ("program__provider", "site")


def log_run(person: Person, pk: uuid.UUID) -> CourseRun:
    """Return the run with its program and site; Http404 for who may not read its log."""
    return get_object_or_404(log_runs_of(person).select_related(*PARTS), pk=pk)


def log_entry(person: Person, pk: uuid.UUID) -> LogEntry:
    """Return the note as it stands, whichever of its corrections is asked for; Http404 as above."""
    notes = notes_visible_to(person).select_related(*(f"run__{part}" for part in PARTS))
    note = get_object_or_404(notes, pk=pk)
    entry = entry_of(note)
    entry.note.run = note.run
    return entry


def changes_note(person: Person, entry: LogEntry) -> bool:
    """Say whether ``person`` may correct the note: who wrote it first, or a lead."""
    run = entry.note.run
    if not writes_notes(person, run):
        return False
    return entry.first.by_id == person.pk or is_lead(person, run.program.provider)


def require_changes(person: Person, entry: LogEntry) -> LogNote:
    """Return the note as it stands; PermissionDenied for who may only read it."""
    if not changes_note(person, entry):
        raise PermissionDenied(_("Only who wrote this note, or a training lead, changes it."))
    return entry.note


def zone_of(run: CourseRun) -> ZoneInfo:
    """Return the time zone in which the log is told."""
    return ZoneInfo(run.site.time_zone)


def without_consent(run: CourseRun) -> list[Person]:
    """Return the trainees who have not agreed to be seen in photographs (two queries)."""
    enrolled = run.enrolments.filter(state=Enrolment.State.ENROLLED).select_related("person")
    people = [enrolment.person for enrolment in enrolled.order_by("person__full_name")]
    answers = consents_of(people, run.program.provider)
    return [person for person in people if not answers[person.pk]["photographs"]]
