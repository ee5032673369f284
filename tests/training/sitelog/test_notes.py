"""Writing and correcting notes, and adding photographs: who may, and what is refused."""

import uuid
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.core.exceptions import PermissionDenied
from django.db import DatabaseError, connection, transaction
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from PIL.ExifTags import IFD, Base

from tests.assessments.site.pictures import exif
from tests.factories import enrol, make_person
from tests.training.sitelog.builders import batch, curing, during, new_photo, note
from tests.training.yard import Yard, make_yard
from training.actions.log import verify_log
from training.actions.sitelog import (
    NewPhoto,
    NoteFacts,
    add_photographs,
    correct_note,
    write_note,
)
from training.errors import Refused
from training.models import LogEntry, LogNote, LogPhoto
from training.queries.sitelog import entry_of, log_of, photo_bytes, photographs_of_run

pytestmark = pytest.mark.django_db


@pytest.fixture
def yard(db: None) -> Yard:
    """Return a yard whose run is on today."""
    made = make_yard()
    during(made.run)
    return made


def files(settings: Any) -> list[Path]:
    return [path for path in Path(settings.MEDIA_ROOT).rglob("*.jpg") if path.is_file()]


def test_a_note_is_kept_with_its_photographs(yard: Yard) -> None:
    written = note(
        yard.teacher,
        yard.run,
        photos=(new_photo("First"), new_photo("Second")),
        grid=" c 4 ",
        wall_celsius=Decimal("7.5"),
    )
    assert (written.grid, written.by, written.wall_celsius) == ("C4", yard.teacher, Decimal("7.5"))
    photos = list(LogPhoto.objects.order_by("position"))
    assert [(photo.position, photo.caption) for photo in photos] == [(1, "First"), (2, "Second")]
    assert (photo_bytes(photos[0]) or b"").startswith(b"\xff\xd8\xff")
    log = LogEntry.objects.get(verb="sitelog.note_written")
    assert log.data["photographs"] == [photo.sha256 for photo in photos]
    assert verify_log() is None


@pytest.mark.parametrize("who", ["lead", "teacher", "trainee"])
def test_lead_instructor_and_trainee_write(yard: Yard, who: str) -> None:
    assert note(getattr(yard, who), yard.run).by == getattr(yard, who)


@pytest.mark.parametrize("who", ["manager", "stranger", "other_teacher"])
def test_nobody_else_writes(yard: Yard, who: str) -> None:
    with pytest.raises(PermissionDenied):
        note(getattr(yard, who), yard.run)
    assert not LogNote.objects.exists()


@pytest.mark.parametrize("state", ["withdrawn", "waiting"])
def test_a_trainee_who_has_no_place_does_not_write(yard: Yard, state: str) -> None:
    yard.enrolment.state = state
    yard.enrolment.save()
    with pytest.raises(PermissionDenied):
        note(yard.trainee, yard.run)


def test_once_the_run_is_closed_only_who_keeps_the_log_writes(yard: Yard) -> None:
    yard.run.state = "closed"
    yard.run.save()
    with pytest.raises(PermissionDenied):
        note(yard.trainee, yard.run)
    assert note(yard.lead, yard.run).pk


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"text": " "}, "text"),
        ({"at": timedelta(hours=1)}, "at"),
        ({"at": -timedelta(days=400)}, "at"),
        ({"wall_celsius": Decimal("90.1")}, "wall_celsius"),
        ({"air_celsius": Decimal("-60.1")}, "air_celsius"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field(
    yard: Yard, changes: dict[str, Any], field: str
) -> None:
    values = {"text": "Seen.", **changes}
    if "at" in values:
        values["at"] = timezone.now() + values["at"]
    with pytest.raises(Refused) as refused:
        note(yard.teacher, yard.run, **values)
    assert refused.value.field == field


@pytest.mark.parametrize("facts", [{"weather": "Dry"}, {"air_celsius": Decimal(0)}])
def test_the_weather_alone_is_a_note(yard: Yard, facts: dict[str, Any]) -> None:
    assert note(yard.teacher, yard.run, "", **facts).text == ""


def test_the_same_form_sent_twice_is_stored_once(yard: Yard) -> None:
    key = uuid.uuid4()
    facts = NoteFacts(at=timezone.now(), text="Seen.")
    made = [
        write_note(
            actor=yard.teacher, run=yard.run, facts=facts, photographs=[new_photo()], note_id=key
        )
        for _ in range(2)
    ]
    assert made[0] == made[1]
    assert LogPhoto.objects.count() == 1


def test_a_photograph_without_a_caption_leaves_nothing_behind(yard: Yard, settings: Any) -> None:
    with pytest.raises(Refused, match="caption"):
        note(yard.teacher, yard.run, photos=(new_photo(), new_photo("  ")))
    assert not LogNote.objects.exists()
    assert files(settings) == []


def test_a_correction_stands_instead_and_the_old_note_stays(yard: Yard) -> None:
    old = note(yard.trainee, yard.run, "North side", photos=(new_photo(),))
    new = correct_note(
        actor=yard.trainee, note=old, facts=NoteFacts(at=old.at, text="South side", grid="d2")
    )
    entry = entry_of(old)
    assert (entry.note, entry.earlier, entry.first) == (new, [old], old)
    assert [photo.note_id for photo in entry.photos] == [old.pk]
    (photo,) = photographs_of_run(yard.run)
    assert (photo.note.grid, photo.note.text) == ("D2", "South side")
    with pytest.raises(Refused, match="corrected meanwhile"):
        correct_note(actor=yard.trainee, note=old, facts=NoteFacts(at=old.at, text="East"))


def test_only_the_writer_and_a_lead_correct(yard: Yard) -> None:
    old = note(yard.trainee, yard.run)
    other = make_person()
    enrol(yard.run, other)
    facts = NoteFacts(at=old.at, text="Otherwise")
    for actor in (yard.teacher, other, yard.stranger):
        with pytest.raises(PermissionDenied):
            correct_note(actor=actor, note=old, facts=facts)
    second = correct_note(actor=yard.lead, note=old, facts=facts)
    # What a lead corrected is still the trainee's own.
    assert correct_note(actor=yard.trainee, note=second, facts=facts).replaces == second


def test_photographs_are_added_once_behind_the_others(yard: Yard) -> None:
    first = new_photo("First")
    written = note(yard.teacher, yard.run, photos=(first,))
    corrected = correct_note(
        actor=yard.teacher, note=written, facts=NoteFacts(at=written.at, text="Mended")
    )
    added = add_photographs(
        actor=yard.teacher, note=corrected, photographs=[first, new_photo("Second")]
    )
    assert [(photo.note_id, photo.position) for photo in added] == [(written.pk, 2)]
    with pytest.raises(Refused, match="choose at least one"):
        add_photographs(actor=yard.teacher, note=written, photographs=[])
    with pytest.raises(Refused, match="12 photographs at most"):
        add_photographs(actor=yard.teacher, note=written, photographs=[first] * 13)


def test_the_database_lets_notes_and_photographs_only_grow(yard: Yard) -> None:
    written = note(yard.teacher, yard.run, photos=(new_photo(),))
    for change in (
        lambda: LogNote.objects.filter(pk=written.pk).update(text="Other"),
        lambda: LogPhoto.objects.update(caption="Other"),
        lambda: LogPhoto.objects.all().delete(),
    ):
        with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
            change()


def test_the_cameras_time_is_read_by_the_clock_of_the_site(yard: Yard) -> None:
    # New York is four hours behind UTC before the first Sunday of November (IANA time zones).
    told = exif({})
    told.get_ifd(IFD.Exif)[Base.DateTimeOriginal] = "2025:10:20 09:30:00"
    note(yard.teacher, yard.run, photos=(new_photo(exif=told),))
    assert LogPhoto.objects.get().taken_at == datetime(2025, 10, 20, 13, 30, tzinfo=UTC)


def test_a_camera_that_is_days_ahead_tells_nothing(yard: Yard) -> None:
    ahead = timezone.now() + timedelta(days=3)
    told = exif({})
    told.get_ifd(IFD.Exif)[Base.DateTimeOriginal] = f"{ahead:%Y:%m:%d %H:%M:%S}"
    note(yard.teacher, yard.run, photos=(new_photo(exif=told),))
    assert LogPhoto.objects.get().taken_at is None


def test_days_are_those_of_the_site(yard: Yard) -> None:
    yard.run.site.time_zone = "Pacific/Auckland"
    yard.run.site.save()
    zone = ZoneInfo("Pacific/Auckland")
    midnight = (
        (timezone.now() - timedelta(days=1))
        .astimezone(zone)
        .replace(hour=0, minute=0, second=0, microsecond=0)
    )
    note(yard.teacher, yard.run, at=midnight)
    note(yard.teacher, yard.run, at=midnight - timedelta(seconds=1))
    assert [day.day for day in log_of(yard.run)] == [
        (midnight - timedelta(seconds=1)).date(),
        midnight.date(),
    ]


def test_a_trainee_reads_the_own_notes_and_the_mortar(yard: Yard) -> None:
    own = note(yard.trainee, yard.run, "Mine")
    note(yard.teacher, yard.run, "About somebody")
    batch(yard.teacher, yard.run)
    (day,) = log_of(yard.run, yard.trainee)
    assert [entry.note for entry in day.entries] == [own]
    assert len(day.batches) == 1
    (whole,) = log_of(yard.run, yard.teacher)
    assert len(whole.entries) == 2


def test_the_log_takes_as_many_queries_for_three_as_for_one(yard: Yard) -> None:
    def one(number: int) -> None:
        note(yard.teacher, yard.run, photos=(new_photo(f"Photo {number}"),))
        made = batch(yard.teacher, yard.run, label=f"B{number}")
        curing(yard.teacher, yard.run, batch=made, started_at=made.mixed_at)

    one(1)
    with CaptureQueriesContext(
        connection,
    ) as first:
        log_of(yard.run)
    one(2)
    one(3)
    with CaptureQueriesContext(connection) as third:
        assert len(log_of(yard.run)[0].entries) == 3
    assert len(first) == len(third) == 4


def test_a_file_that_is_gone_is_none(yard: Yard) -> None:
    note(yard.teacher, yard.run, photos=(new_photo(),))
    photo = LogPhoto.objects.get()
    Path(photo.file.path).unlink()
    assert photo_bytes(photo) is None


def test_a_caption_is_kept_on_one_line(yard: Yard) -> None:
    note(yard.teacher, yard.run, photos=(NewPhoto(new_photo().photograph, " a\n b "),))
    assert LogPhoto.objects.get().caption == "a b"
