"""Photographs of a note: their files and rows are kept together, or not at all."""

import uuid
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from django.core.files.base import ContentFile
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from training.actions.log import write_log
from training.actions.sitelog.guards import require_own_or_lead
from training.errors import Refused
from training.models import CourseRun, LogNote, LogPhoto, Person
from training.photographs import Photograph
from training.queries.sitelog import entry_of

MOST = 12  # in one form
LONGEST_CAPTION = 300


@dataclass(frozen=True)
class NewPhoto:
    """A photograph that was read, its caption, and whether somebody can be recognised in it."""

    photograph: Photograph
    caption: str
    people: bool = False


def add_photographs(
    *, actor: Person, note: LogNote, photographs: Sequence[NewPhoto]
) -> list[LogPhoto]:
    """Save more photographs of a note and return them, all or none.

    They hang at the note as it was first written, so that its corrections keep them. The same
    picture is kept once a note. Raises PermissionDenied for anyone but who wrote it and a lead;
    Refused where there is none, or one without a caption.
    """
    first = entry_of(note).first
    require_own_or_lead(actor, note.run, first)
    if not photographs:
        raise Refused(_("No photograph is chosen yet: choose at least one."), field="photographs")
    with files_kept_only_with_rows() as files, transaction.atomic():
        # The same form sent twice at one moment: the second waits here, then finds the pictures.
        CourseRun.objects.select_for_update(of=("self",), no_key=True).get(pk=note.run_id)
        photos = store(first, photographs, files)
        write_log(
            actor=actor,
            verb="sitelog.photographs_added",
            subject=first,
            data={"photographs": [photo.sha256 for photo in photos]},
        )
    return photos


@contextmanager
def files_kept_only_with_rows() -> Iterator[list[LogPhoto]]:
    """Yield a list for photographs whose file was saved: they go where the block fails."""
    saved: list[LogPhoto] = []
    try:
        yield saved
    except BaseException:
        for photo in saved:
            photo.file.delete(save=False)
        raise


def store(note: LogNote, photographs: Sequence[NewPhoto], files: list[LogPhoto]) -> list[LogPhoto]:
    """Save the photographs behind those that the note has; inside the caller's transaction."""
    if len(photographs) > MOST:
        raise Refused(
            _("{most} photographs at most go with one form: send the others after it.").format(
                most=MOST
            )
        )
    there = {photo.sha256 for photo in note.photos.all()}
    after = max((photo.position for photo in note.photos.all()), default=0)
    photos = []
    for new in photographs:
        if new.photograph.sha256 in there:
            continue
        there.add(new.photograph.sha256)
        after += 1
        photos.append(_store(note, new, after, files))
    return photos


def _store(note: LogNote, new: NewPhoto, position: int, files: list[LogPhoto]) -> LogPhoto:
    caption = " ".join(new.caption.split())
    if not caption:
        raise Refused(_("Say in a caption what the photograph shows."), field="caption")
    if len(caption) > LONGEST_CAPTION:
        raise Refused(
            _("A caption has {longest_caption} characters at most.").format(
                longest_caption=LONGEST_CAPTION
            ),
            field="caption",
        )
    photograph = new.photograph
    photo = LogPhoto(
        id=uuid.uuid4(),
        note=note,
        position=position,
        caption=caption,
        people=new.people,
        sha256=photograph.sha256,
        size=len(photograph.content),
        width=photograph.width,
        height=photograph.height,
        taken_at=_moment(photograph.taken, ZoneInfo(note.run.site.time_zone)),
    )
    photo.file.save(f"{photo.pk}.jpg", ContentFile(photograph.content), save=False)
    files.append(photo)
    photo.save(force_insert=True)
    return photo


def _moment(taken: datetime | None, zone: ZoneInfo) -> datetime | None:
    """Return when it was taken, by the site's clock where the camera tells no offset.

    A clock that is a day ahead tells nothing that can be kept.
    """
    if taken is None:
        return None
    moment = taken if taken.tzinfo else taken.replace(tzinfo=zone)
    return None if moment > timezone.now() + timedelta(days=1) else moment
