"""Who sees what of assessments; every getter returns one QuerySet, built without a query.

- A lead sees everything of the own provider, an instructor what belongs to the runs they teach.
- A trainee sees the own attempts (an open one only as open: views hold back the rest), and
  the sealed standards of the programs followed.
- A contractor's manager sees no attempt; decided results reach that person with the records.

What is not in a QuerySet does not exist for that person: views answer with 404.
"""

from django.db.models import Q, QuerySet

from assessments.models import Attempt, SealedStandard
from training.models import CourseRun, Person, Program
from training.queries.scope import programs_visible_to, provider_organisations, runs_visible_to


def attempts_visible_to(person: Person) -> QuerySet[Attempt]:
    """Return the attempts on the runs led or taught, and the own ones."""
    return Attempt.objects.filter(Q(enrolment__run__in=_runs(person)) | Q(enrolment__person=person))


def attempts_assessable_by(person: Person) -> QuerySet[Attempt]:
    """Return the attempts that ``person`` may score and sign off: never the own ones."""
    return Attempt.objects.filter(enrolment__run__in=_runs(person)).exclude(
        enrolment__person=person
    )


def standards_visible_to(person: Person) -> QuerySet[SealedStandard]:
    """Return the sealed standards of the programs led, taught or followed."""
    return SealedStandard.objects.filter(program__in=programs_visible_to(person).order_by())


def drafts_visible_to(person: Person) -> QuerySet[Program]:
    """Return the programs whose drafted standard ``person`` may read: those led or taught."""
    return Program.objects.filter(
        Q(provider__in=provider_organisations(person).order_by())
        | Q(pk__in=_runs(person).values("program"))
    )


def may_assess(person: Person, run: CourseRun) -> bool:
    """Say whether ``person`` leads or teaches the run (one query)."""
    return runs_visible_to(person).filter(pk=run.pk).exists()


def _runs(person: Person) -> QuerySet[CourseRun]:
    return runs_visible_to(person).order_by()
