"""What of this app stands against an erasure, what is erased, and what stays."""

from collections.abc import Iterable, Iterator

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from assessments.models import (
    Acknowledgement,
    Attempt,
    Judge,
    Panel,
    PaperSheet,
    Photo,
    PhotoBytes,
    ReportFile,
    Review,
    ReviewPhoto,
    TrainingReport,
)
from training.models import Enrolment, Erasure, Person
from training.privacy.erasable import erase_rows
from training.privacy.erasing import Kept, erasure_block, erasure_step, renamed, stays

OVER = (Panel.State.ADOPTED, Panel.State.ABANDONED)
REMOVED = "This file named a person who was erased since, so it was removed. Make the report again."

stays(
    Kept(
        N_("Decisions and observations."),
        N_("They hold numbers of people, not names, and prove results to those who rely on them."),
    ),
    Kept(
        N_("Words of others in practice plans, retakes and the answers of reviews."),
        N_("They only grow, and are about the work. Whoever writes them is told to name nobody."),
    ),
    Kept(
        N_("The document of a panel whose recommendation was adopted: its judges by name."),
        N_(
            "Its digest is part of the sealed standard, which everybody was assessed under; it "
            "shows that the standard was fixed properly."
        ),
    ),
)


@erasure_block
def being_assessed(person: Person, in_writing: bool) -> Iterator[str]:
    """Tell of an open attempt."""
    attempts = Attempt.objects.filter(enrolment__person=person, state=Attempt.State.OPEN)
    for each in attempts.select_related("enrolment__run__program", "enrolment__run__site"):
        yield (
            _("Attempt {number} on {run} is open: let it be decided or made void first.").format(
                number=each.number, run=each.enrolment.run
            )
        )


@erasure_block
def reviewed(person: Person, in_writing: bool) -> Iterator[str]:
    """Tell of a review that waits for its outcome, asked for or given to the person."""
    open_ones = Review.objects.filter(state__in=(Review.State.ASKED, Review.State.GIVEN))
    if open_ones.filter(asked_by=person).exists():
        yield _("A review that this person asked for is under way: let it be answered first.")
    if open_ones.filter(reviewer=person).exists():
        yield _(
            "This person has a review to answer: let it be answered, or given to another, first."
        )


@erasure_block
def judging(person: Person, in_writing: bool) -> Iterator[str]:
    """Tell of a seat on a panel at work."""
    seats = Judge.objects.filter(person=person).exclude(state=Judge.State.STOOD_DOWN)
    for each in seats.exclude(panel__state__in=OVER).select_related("panel__program"):
        yield _(
            "{panel} is at work with this person on it: let the judge stand down first."
        ).format(panel=each.panel)


@erasure_step
def pictures(erasure: Erasure, name: str) -> Iterable[str]:
    """Remove photographs of the person's work, and scans of score sheets with the name."""
    photos = Photo.objects.filter(attempt__enrolment__person=erasure.person)
    kept = PhotoBytes.objects.filter(pk__in=photos.values("sha256"))
    sheets = PaperSheet.objects.filter(attempt__enrolment__person=erasure.person)
    return [*erase_rows(kept)[1], *erase_rows(sheets)[1]]


@erasure_step
def second_look(erasure: Erasure, name: str) -> Iterable[str]:
    """Take away why reviews were asked for, photographs handed in, and words to a result."""
    Review.objects.filter(asked_by=erasure.person).update(reason="Erased.")
    erase_rows(Acknowledgement.objects.filter(person=erasure.person))
    return erase_rows(ReviewPhoto.objects.filter(review__asked_by=erasure.person))[1]


@erasure_step
def seats(erasure: Erasure, name: str) -> Iterable[str]:
    """Take away what a judge told of qualifications and interests."""
    held = Judge.objects.filter(person=erasure.person)
    held.exclude(qualifications="").update(qualifications="Erased.")
    held.exclude(interests="").update(interests="Erased.")
    return ()


@erasure_step
def reports(erasure: Erasure, name: str) -> Iterator[str]:
    """Write the pseudonym into reports on the person's runs; remove files with the name."""
    enrolled = Enrolment.objects.filter(person=erasure.person)
    for report in TrainingReport.objects.filter(run__in=enrolled.values("run")):
        chosen = renamed(report.choices, name, erasure.pseudonym)
        if chosen != report.choices:
            report.choices, report.version = chosen, report.version + 1
            report.save(update_fields=["choices", "version"])
        for file in ReportFile.objects.filter(report=report):
            document = renamed(file.document, name, erasure.pseudonym)
            if document == file.document:
                continue
            if file.pdf:
                yield file.pdf.name or ""
            file.document, file.pdf, file.pdf_sha256 = document, "", ""
            file.state, file.error = ReportFile.State.FAILED, REMOVED
            file.save(update_fields=["document", "pdf", "pdf_sha256", "state", "error"])
