"""The training report of a run as it stands now, and the files made of it."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import count
from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.utils.translation import override

from assessments.models import Photo, ReportFile, TrainingReport
from assessments.queries.attainment import attainment
from assessments.queries.attempts import standings
from assessments.trainingreport import delivered, judged
from assessments.trainingreport import parts as names
from assessments.trainingreport.choices import Choices, load_choices
from assessments.trainingreport.people import People, people_of
from assessments.trainingreport.photographs import (
    ATTEMPT,
    LOG,
    Shown,
    StageShots,
    by_stage,
    shots_of,
    stage_titles,
)
from assessments.trainingreport.work import who_may_do
from training.models import CourseRun, LogPhoto, Person
from training.queries.hours import hours_of
from training.queries.scope import runs_visible_to
from training.site_time import zone_of

SCHEMA = "bankermark/training-report/1"


@dataclass(frozen=True)
class Desk:
    """What an author works at: the report (None before the first save), choices, photographs."""

    report: TrainingReport | None
    choices: Choices
    people: People
    stages: Sequence[StageShots]

    @property
    def version(self) -> int:
        """The version that a save has to name; 0 before the first."""
        return self.report.version if self.report else 0

    @property
    def left_out(self) -> int:
        """How many photographs cannot be shown for want of a consent."""
        return sum(stage.left_out for stage in self.stages)

    @property
    def shown(self) -> int:
        """How many photographs the report shows."""
        return sum(len(stage.shown) for stage in self.stages)


def report_of(run: CourseRun) -> TrainingReport | None:
    """Return the report of a run with who changed it last; None before the first save."""
    return TrainingReport.objects.filter(run=run).select_related("changed_by").first()


def desk_of(run: CourseRun) -> Desk:
    """Return the desk at which the report of ``run`` is edited (constant queries)."""
    report = report_of(run)
    choices = load_choices(report.choices) if report else Choices()
    people = people_of(run)
    titles = stage_titles(run, judged.standards_of(run))
    return Desk(report, choices, people, by_stage(titles, shots_of(run, people), choices))


def report_document(run: CourseRun) -> dict[str, Any]:
    """Return the whole report: parts in order with headings, texts and figures (JSON).

    Figures are computed from what is observed, decided and issued at this moment; names stand
    only where their people agreed. ``pictures`` of the procedure hold the ids of photographs.
    It is in English whoever asks, as it is kept and digested.
    """
    with override("en"):
        return _document(run)


def _document(run: CourseRun) -> dict[str, Any]:
    desk = desk_of(run)
    facts = _facts(run, desk)
    shown = [part for part in desk.choices.parts if part.shown]
    return {
        "schema": SCHEMA,
        "run": str(run.pk),
        "title": f"Training report: {run.program.title}, {run.site.name}",
        "parts": [
            {
                "key": part.key,
                "number": number,
                "heading": part.title,
                "text": part.text,
                "facts": facts[part.key](),
            }
            for number, part in enumerate(shown, start=1)
        ],
    }


def pictures_in(document: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Return every photograph that a report shows, in order."""
    return [
        picture
        for part in document["parts"]
        if part["key"] == names.PROCEDURE
        for stage in part["facts"]["stages"]
        for picture in stage["pictures"]
    ]


def files_visible_to(person: Person) -> QuerySet[ReportFile]:
    """Return the files of the reports on runs that ``person`` leads or teaches."""
    runs = runs_visible_to(person).order_by()
    return ReportFile.objects.filter(report__run__in=runs).select_related(
        "report__run__program", "report__run__site", "asked_by"
    )


def _facts(run: CourseRun, desk: Desk) -> dict[str, Callable[[], dict[str, Any]]]:
    """Return what reads the figures of each part; only those that are shown are read."""
    people, zone = desk.people, zone_of(run.site)
    standards, found, hours = judged.standards_of(run), attainment([run]), hours_of(run)
    return {
        names.SITE: lambda: delivered.site_facts(run, people),
        names.TAUGHT: lambda: delivered.taught_facts(run, people, hours),
        names.ATTENDANCE: lambda: delivered.attendance_facts(people, hours),
        names.PROCEDURE: lambda: _procedure(desk),
        names.STANDARD: lambda: judged.standard_facts(run, standards, zone),
        names.RESULTS: lambda: judged.results_facts(found, standings(run), people),
        names.WORK: lambda: judged.work_facts(who_may_do(run), people),
        names.CAUTIONS: lambda: judged.cautions_facts(run, standards),
        names.NEXT: lambda: judged.next_facts(found, standards),
    }


def _procedure(desk: Desk) -> dict[str, Any]:
    """Return the stages of which something is told; photographs are numbered through."""
    number = count(1)
    stages = [
        {
            "key": stage.key,
            "title": stage.title,
            "text": desk.choices.stage(stage.key).text,
            "pictures": [_picture(each, next(number)) for each in stage.shown],
        }
        for stage in desk.stages
    ]
    return {"stages": [stage for stage in stages if stage["text"] or stage["pictures"]]}


def _picture(shown: Shown, number: int) -> dict[str, Any]:
    shot = shown.shot
    return {
        "id": shot.id,
        "number": number,
        "caption": shown.caption,
        "grid": shot.grid,
        "sha256": shot.sha256,
        "width": shot.width,
        "height": shot.height,
    }


def picture_of_run(run: CourseRun, picture: str) -> bool:
    """Say whether ``run`` has the photograph with this id (one query)."""
    source, _, key = picture.partition("-")
    try:
        pk = UUID(key)
    except ValueError:
        return False
    if source == LOG:
        return LogPhoto.objects.filter(pk=pk, note__run=run).exists()
    return source == ATTEMPT and Photo.objects.filter(pk=pk, attempt__enrolment__run=run).exists()
