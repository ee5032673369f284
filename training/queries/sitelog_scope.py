"""Who reads and writes the site log; what is not in a QuerySet does not exist for that person.

Leads and instructors see all of the runs that they lead or teach. A trainee who is enrolled sees
the mortar and the curing of the run, and the own notes: those of others may tell how others do.
"""

from django.db.models import Exists, OuterRef, Q, QuerySet

from training.models import CourseRun, Curing, Enrolment, LogNote, LogPhoto, MortarBatch, Person
from training.queries.scope import runs_visible_to


def log_runs_of(person: Person) -> QuerySet[CourseRun]:
    """Return the runs in whose log ``person`` reads: led, taught, or enrolled on."""
    return CourseRun.objects.filter(
        Q(pk__in=runs_visible_to(person).order_by().values("pk")) | Exists(_enrolled(person))
    )


def notes_visible_to(person: Person) -> QuerySet[LogNote]:
    """Return the notes of runs led or taught, and the own ones on runs enrolled on."""
    return LogNote.objects.filter(
        Q(run__in=runs_visible_to(person).order_by().values("pk"))
        | Q(by=person, run__in=log_runs_of(person).order_by().values("pk"))
    )


def photos_visible_to(person: Person) -> QuerySet[LogPhoto]:
    """Return the photographs of the notes that are visible."""
    return LogPhoto.objects.filter(note__in=notes_visible_to(person).order_by().values("pk"))


def batches_visible_to(person: Person) -> QuerySet[MortarBatch]:
    """Return the batches of runs in whose log ``person`` reads."""
    return MortarBatch.objects.filter(run__in=log_runs_of(person).order_by().values("pk"))


def curings_visible_to(person: Person) -> QuerySet[Curing]:
    """Return the curings of runs in whose log ``person`` reads."""
    return Curing.objects.filter(run__in=log_runs_of(person).order_by().values("pk"))


def keeps_log(person: Person, run: CourseRun) -> bool:
    """Say whether ``person`` leads or teaches the run, and so keeps its whole log (one query)."""
    return runs_visible_to(person).filter(pk=run.pk).exists()


def writes_notes(person: Person, run: CourseRun) -> bool:
    """Say whether ``person`` may write notes: keeps the log, or is enrolled while the run is open
    (one or two queries)."""
    if keeps_log(person, run):
        return True
    return (
        run.state == CourseRun.State.OPEN
        and run.enrolments.filter(person=person, state=Enrolment.State.ENROLLED).exists()
    )


def _enrolled(person: Person) -> QuerySet[Enrolment]:
    return Enrolment.objects.filter(
        run=OuterRef("pk"), person=person, state=Enrolment.State.ENROLLED
    )
