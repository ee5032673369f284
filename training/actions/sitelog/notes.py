"""Notes of the site log: written once, and corrected by a note that names what it corrects."""

import uuid
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from training.actions.log import write_log
from training.actions.sitelog.guards import (
    check_moment,
    require_own_or_lead,
    require_writer,
    tidy_grid,
)
from training.actions.sitelog.photographs import NewPhoto, files_kept_only_with_rows, store
from training.errors import Refused
from training.models import CourseRun, LogNote, Person
from training.queries.sitelog import entry_of

# °C; outside of these a thermometer was read wrongly. The database holds the same.
AIR, WALL = (-60, 60), (-60, 90)
CORRECTED = N_("This note was corrected meanwhile. Open it anew and correct what it says now.")


@dataclass(frozen=True)
class NoteFacts:
    """What a note says; ``at`` is aware, temperatures are °C, of which one decimal is kept."""

    at: datetime
    text: str = ""
    stage_key: str = ""
    grid: str = ""
    weather: str = ""
    air_celsius: Decimal | None = None
    wall_celsius: Decimal | None = None

    @property
    def says_something(self) -> bool:
        """Whether it holds more than a moment and a place."""
        temperatures = (self.air_celsius, self.wall_celsius)
        return bool(self.text.strip() or self.weather.strip() or temperatures != (None, None))


def write_note(
    *,
    actor: Person,
    run: CourseRun,
    facts: NoteFacts,
    photographs: Sequence[NewPhoto] = (),
    note_id: uuid.UUID | None = None,
) -> LogNote:
    """Save and return a note with its photographs, all of it or nothing.

    ``note_id`` is the id made when the form was shown: sent twice, the note is stored once.
    Raises PermissionDenied for who does not write in this log; Refused, at its field, for a
    moment that cannot be, a temperature no wall has, a missing caption, or a note of nothing.
    """
    require_writer(actor, run)
    _check(run, facts, empty=not photographs)
    key = note_id or uuid.uuid4()
    try:
        with files_kept_only_with_rows() as files, transaction.atomic():
            note = _create(LogNote(id=key, run=run, by=actor), facts)
            photos = store(note, photographs, files)
            write_log(
                actor=actor,
                verb="sitelog.note_written",
                subject=note,
                data={"run": str(run.pk), "photographs": [photo.sha256 for photo in photos]},
            )
            return note
    except IntegrityError:
        stored = LogNote.objects.filter(pk=key, run=run, by=actor).first()
        if stored is None:
            raise
        return stored


@transaction.atomic
def correct_note(*, actor: Person, note: LogNote, facts: NoteFacts) -> LogNote:
    """Save and return the note that stands from now on instead of ``note``, which stays to be read.

    Its photographs stay. Raises PermissionDenied for anyone but who wrote it first and a lead;
    Refused as write_note does, and where ``note`` was corrected meanwhile.
    """
    run = note.run
    entry = entry_of(note)
    require_own_or_lead(actor, run, entry.first)
    CourseRun.objects.select_for_update(of=("self",), no_key=True).get(pk=run.pk)
    if LogNote.objects.filter(replaces=note).exists():
        raise Refused(CORRECTED)
    _check(run, facts, empty=not entry.photos)
    corrected = _create(LogNote(run=run, by=actor, replaces=note), facts)
    write_log(
        actor=actor,
        verb="sitelog.note_corrected",
        subject=corrected,
        data={"run": str(run.pk), "replaces": str(note.pk)},
    )
    return corrected


def _create(note: LogNote, facts: NoteFacts) -> LogNote:
    note.at = facts.at
    note.text = facts.text.strip()
    note.stage_key = facts.stage_key
    note.grid = tidy_grid(facts.grid)
    note.weather = facts.weather.strip()
    note.air_celsius = facts.air_celsius
    note.wall_celsius = facts.wall_celsius
    note.save(force_insert=True)
    return note


def _check(run: CourseRun, facts: NoteFacts, *, empty: bool) -> None:
    check_moment(run, facts.at, field="at")
    for field, value, (low, high) in (
        ("air_celsius", facts.air_celsius, AIR),
        ("wall_celsius", facts.wall_celsius, WALL),
    ):
        if value is not None and not low <= value <= high:
            raise Refused(
                _(
                    "{value} °C lies outside {low} to {high} °C: read the thermometer again, and "
                    "check the unit."
                ).format(value=value, low=low, high=high),
                field=field,
            )
    if empty and not facts.says_something:
        raise Refused(
            _(
                "Nothing is written yet: write what was seen or done, or add a photograph, the "
                "weather or a temperature."
            ),
            field="text",
        )
