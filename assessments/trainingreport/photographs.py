"""The photographs that a report can show: those of the site log, and those of the attempts."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import IO
from uuid import UUID

from django.core.files.base import File

from assessments.models import Attempt, Photo, PhotoBytes, SealedStandard, Stage
from assessments.trainingreport.choices import Choices, Picture
from assessments.trainingreport.parts import NO_STAGE, NO_STAGE_TITLE
from assessments.trainingreport.people import People
from training.models import CourseRun, LogPhoto
from training.queries.sitelog import photographs_of_run

LOG, ATTEMPT = "log", "attempt"


@dataclass(frozen=True)
class Shot:
    """A photograph: ``id`` names it in a report, ``caption`` is its own, ``grid`` where it is.

    ``usable`` is false where somebody can be recognised and not everybody of the run agreed.
    Sizes in pixels, ``at`` when it was taken, or what it is about.
    """

    id: str
    source: str
    stage: str
    caption: str
    grid: str
    at: datetime
    width: int
    height: int
    sha256: str
    people: bool = False
    usable: bool = True


@dataclass(frozen=True)
class Shown:
    """A photograph as the report shows it."""

    shot: Shot
    caption: str


@dataclass(frozen=True)
class StageShots:
    """A stage with all its photographs by time, and those that the report shows, in order."""

    key: str
    title: str
    shots: Sequence[Shot]
    shown: Sequence[Shown]

    @property
    def left_out(self) -> int:
        """How many cannot be shown, as somebody seen in them did not agree."""
        return sum(not shot.usable for shot in self.shots)


def stage_titles(run: CourseRun, standards: Iterable[SealedStandard]) -> dict[str, str]:
    """Return the title of each stage by its key, in order: of the standards, else of the task."""
    titles: dict[str, str] = {}
    for standard in standards:
        titles |= {row["key"]: row["title"] for row in standard.document["stages"]}
    if titles:
        return titles
    rows = Stage.objects.filter(task__program=run.program_id).order_by("position")
    return dict(rows.values_list("key", "title"))


def shots_of(run: CourseRun, people: People) -> list[Shot]:
    """Return every photograph of a run that is still kept, by time (four queries)."""
    found = [*_of_log(run, people), *_of_attempts(run)]
    # Of the same moment, those of the log stay in the order of its notes.
    return sorted(found, key=lambda shot: shot.at)


def by_stage(
    titles: Mapping[str, str], shots: Sequence[Shot], choices: Choices
) -> list[StageShots]:
    """Return every stage with what is chosen of it; photographs of no known stage come last."""
    rows = []
    for key, title in {**titles, NO_STAGE: NO_STAGE_TITLE}.items():
        own = [each for each in shots if (each.stage if each.stage in titles else NO_STAGE) == key]
        rows.append(StageShots(key, title, own, _shown(own, choices.stage(key).pictures)))
    return rows


def open_shot(picture: str) -> IO[bytes] | None:
    """Return the file of a photograph by its id, open; None where it is kept no longer."""
    source, _, key = picture.partition("-")
    try:
        if source == LOG:
            stored: File[bytes] | None = LogPhoto.objects.get(pk=UUID(key)).file
        else:
            sha256 = Photo.objects.values_list("sha256", flat=True).get(pk=UUID(key))
            stored = PhotoBytes.objects.get(pk=sha256).file
        return stored.open("rb") if stored else None
    except (LogPhoto.DoesNotExist, Photo.DoesNotExist, PhotoBytes.DoesNotExist):
        return None
    except (FileNotFoundError, ValueError):
        return None


def _shown(shots: Sequence[Shot], chosen: Sequence[Picture] | None) -> list[Shown]:
    """Return what is shown; where nobody chose, all of the log."""
    usable = {shot.id: shot for shot in shots if shot.usable}
    if chosen is None:
        return [Shown(shot, shot.caption) for shot in usable.values() if shot.source == LOG]
    return [
        Shown(usable[each.id], each.caption or usable[each.id].caption)
        for each in chosen
        if each.id in usable
    ]


def _of_log(run: CourseRun, people: People) -> Iterable[Shot]:
    for photo in photographs_of_run(run):
        if not photo.file:
            continue  # erased
        yield Shot(
            id=f"{LOG}-{photo.pk}",
            source=LOG,
            stage=photo.note.stage_key,
            caption=photo.caption,
            grid=photo.note.grid,
            at=photo.taken_at or photo.note.at,
            width=photo.width,
            height=photo.height,
            sha256=photo.sha256,
            people=photo.people,
            usable=people.all_agreed or not photo.people,
        )


def _of_attempts(run: CourseRun) -> Iterable[Shot]:
    """Give the photographs of the attempts whose bytes came (two queries)."""
    photos = list(
        Photo.objects.filter(attempt__enrolment__run=run)
        .exclude(attempt__state=Attempt.State.VOID)
        .select_related("attempt__standard")
    )
    kept = PhotoBytes.objects.filter(pk__in={photo.sha256 for photo in photos})
    there = set(kept.values_list("pk", flat=True))
    for photo in photos:
        if photo.sha256 not in there:
            continue
        document = photo.attempt.standard.document
        titles = {row["key"]: row["title"] for row in document["stages"]}
        criteria = {row["key"]: row for row in document["criteria"]}
        criterion = criteria.get(photo.subject_key)
        yield Shot(
            id=f"{ATTEMPT}-{photo.pk}",
            source=ATTEMPT,
            stage=criterion["stage"] if criterion else photo.subject_key,
            caption=criterion["title"] if criterion else titles[photo.subject_key],
            grid="",
            at=photo.claimed_at,
            width=photo.width,
            height=photo.height,
            sha256=photo.sha256,
        )
