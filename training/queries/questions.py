"""Questions of a run as its pages show them."""

from django.db.models import Q, QuerySet

from training.models import CourseRun, Person, Question
from training.queries.scope import runs_visible_to


def questions_of(run: CourseRun) -> QuerySet[Question]:
    """Return the questions of ``run``: those without an answer first, then by time (one query)."""
    return (
        Question.objects.filter(run=run)
        .select_related("asked_by", "written_by", "answered_by", "session")
        .order_by("-answered_at", "asked_at", "id")
    )


def questions_visible_to(person: Person) -> QuerySet[Question]:
    """Return the questions of the runs led or taught."""
    return Question.objects.filter(run__in=runs_visible_to(person).order_by().values("pk"))


def questions_for(person: Person, run: CourseRun) -> QuerySet[Question]:
    """Return what a trainee of ``run`` reads: the own questions, and all that are answered.

    Names of others are not for trainees: the page leaves them out (one query).
    """
    return questions_of(run).filter(Q(asked_by=person) | Q(answered_at__isnull=False))
