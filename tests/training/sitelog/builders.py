"""Notes, batches and photographs for the tests of the site log; all invented."""

from datetime import datetime, timedelta
from typing import Any

from django.core.files.base import ContentFile
from django.utils import timezone

from tests.assessments.site.pictures import jpeg
from training.actions.sitelog import NewPhoto, NoteFacts, begin_curing, mix_batch, write_note
from training.models import CourseRun, Curing, LogNote, MortarBatch, Person
from training.photographs import Photograph, read_photograph


def during(run: CourseRun) -> None:
    """Move the run so that it is on today: a log tells of what has been."""
    today = timezone.localdate()
    run.starts_on, run.ends_on = today - timedelta(days=2), today + timedelta(days=2)
    run.save()


def photograph(**options: Any) -> Photograph:
    """Return a photograph that was read."""
    return read_photograph(ContentFile(jpeg(**options)))


def new_photo(caption: str = "The joint, raked out", **options: Any) -> NewPhoto:
    """Return a photograph with its caption."""
    return NewPhoto(photograph(**options), caption)


def note(
    actor: Person,
    run: CourseRun,
    text: str = "Raked out.",
    *,
    at: datetime | None = None,
    photos: tuple[NewPhoto, ...] = (),
    **facts: Any,
) -> LogNote:
    """Return a note, written now unless ``at`` is given."""
    said = NoteFacts(at=at or timezone.now(), text=text, **facts)
    return write_note(actor=actor, run=run, facts=said, photographs=photos)


def batch(actor: Person, run: CourseRun, **changes: Any) -> MortarBatch:
    """Return a batch with 90 minutes of working life, mixed now unless changed."""
    values = {
        "label": "B1",
        "mix": "Lime putty and sharp sand, 1 to 3",
        "mixed_at": timezone.now(),
        "working_minutes": 90,
        "source": "Data sheet 7 of the yard",
    }
    return mix_batch(actor=actor, run=run, **{**values, **changes})


def curing(actor: Person, run: CourseRun, **changes: Any) -> Curing:
    """Return what cures for 72 hours, since now unless changed."""
    values = {
        "what": "Bedding of the dutchman",
        "grid": "c4",
        "protection": "Damp hessian under a sheet",
        "started_at": timezone.now(),
        "hours": 72,
        "source": "Data sheet 7 of the yard",
    }
    return begin_curing(actor=actor, run=run, **{**values, **changes})
