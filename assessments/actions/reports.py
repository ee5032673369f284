"""Saving what an author chose for a training report, and asking for its file."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from assessments.models import ReportFile, TrainingReport
from assessments.queries.scope import may_assess
from assessments.queries.trainingreport import pictures_in, report_document, report_of
from assessments.tasks import make_report
from assessments.trainingreport.choices import (
    Choices,
    PartChoice,
    Picture,
    StageChoice,
    dump_choices,
    load_choices,
)
from training.actions.log import write_log
from training.digests import digest
from training.documents import Paper
from training.errors import Refused
from training.models import CourseRun, Person

# Beside the photographs: laying out the pages, and keeping the file.
STEPS_BESIDE = 2


class Overtaken(Refused):
    """Somebody else saved the report meanwhile; ``now`` is what is saved."""

    def __init__(self, now: TrainingReport) -> None:
        super().__init__(
            _(
                "{changed_by} saved this report while you were writing. Nothing of yours is "
                "lost: it stands below, and what is saved now stands beside it. Save again to keep "
                "yours."
            ).format(changed_by=now.changed_by)
        )
        self.now = now


def save_parts(
    *, actor: Person, run: CourseRun, version: int, parts: Sequence[PartChoice]
) -> TrainingReport:
    """Save which parts are shown, in which order, with which headings and texts.

    ``version`` is that of the report that was edited, 0 before the first save. Raises
    PermissionDenied for whoever neither leads nor teaches the run; Overtaken when somebody else
    saved meanwhile.
    """
    return _save(actor, run, version, lambda before: replace(before, parts=tuple(parts)))


def save_stage(
    *,
    actor: Person,
    run: CourseRun,
    version: int,
    stage: str,
    text: str,
    pictures: Sequence[Picture],
) -> TrainingReport:
    """Save the text of a stage and its photographs in order; raises as ``save_parts``."""
    chosen = StageChoice(text, tuple(pictures))
    return _save(actor, run, version, lambda before: before.with_stage(stage, chosen))


@transaction.atomic
def ask_for_file(*, actor: Person, run: CourseRun, paper: Paper) -> ReportFile:
    """Put a PDF of the report as it stands now in the queue, and return its row.

    While the same is waiting or being made, that one is returned. Raises PermissionDenied as
    ``save_parts``, and Refused where no part is shown.
    """
    _require(actor, run)
    CourseRun.objects.select_for_update(no_key=True).get(pk=run.pk)
    report = report_of(run) or TrainingReport.objects.create(run=run, version=0, changed_by=actor)
    document = {**report_document(run), "paper": paper}
    if not document["parts"]:
        raise Refused(_("Every part is left out: show at least one, then make the PDF."))
    found = digest(document)
    unfinished = (ReportFile.State.WAITING, ReportFile.State.MAKING)
    same = report.files.filter(document_digest=found, state__in=unfinished).first()
    if same is not None:
        return same
    newest = report.files.order_by("-number").first()
    file = ReportFile.objects.create(
        report=report,
        number=newest.number + 1 if newest else 1,
        document=document,
        document_digest=found,
        parts=len(pictures_in(document)) + STEPS_BESIDE,
        asked_by=actor,
    )
    make_report.enqueue(str(file.pk))
    write_log(
        actor=actor,
        verb="report.asked",
        subject=file,
        data={"run": str(run.pk), "number": file.number, "document_digest": found},
    )
    return file


@transaction.atomic
def _save(
    actor: Person, run: CourseRun, version: int, change: Callable[[Choices], Choices]
) -> TrainingReport:
    _require(actor, run)
    # Two first saves at once: the second waits here, then finds the row of the first.
    CourseRun.objects.select_for_update(no_key=True).get(pk=run.pk)
    report = report_of(run)
    if report is None:
        report = TrainingReport(run=run, version=0)
    if report.version != version:
        raise (
            Overtaken(report)
            if report.version
            else Refused(_("There is no report of this run to change. Reload the page."))
        )
    report.choices = dump_choices(change(load_choices(report.choices)))
    report.version, report.changed_by, report.changed_at = version + 1, actor, timezone.now()
    report.save()
    data: dict[str, Any] = {"version": report.version, "choices": digest(report.choices)}
    write_log(actor=actor, verb="report.saved", subject=report, data=data)
    return report


def _require(actor: Person, run: CourseRun) -> None:
    if not may_assess(actor, run):
        raise PermissionDenied(_("Only a lead or an instructor of the run writes its report."))
