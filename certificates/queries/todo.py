"""Which records wait to be issued, for the first page."""

from collections.abc import Iterable

from django.db.models import Count, Exists, OuterRef
from django.urls import reverse

from assessments.models import Attempt, Decision
from certificates.models import Record
from training.models import CourseRun, Person, Role
from training.queries.scope import provider_organisations
from training.queries.todo import Todo, todo_source


@todo_source
def records_to_issue(person: Person, roles: frozenset[str]) -> Iterable[Todo]:
    """Tell a lead on which runs a met decision has no record yet (one query)."""
    if Role.Kind.LEAD not in roles:
        return
    waiting = Decision.objects.filter(
        ~Exists(Record.objects.filter(decision=OuterRef("pk"))),
        replaced_by=None,
        result=Decision.Result.MET,
        attempt__state=Attempt.State.DECIDED,
    )
    runs = (
        CourseRun.objects.filter(
            program__provider__in=provider_organisations(person),
            enrolments__attempts__decisions__in=waiting,
        )
        .select_related("program", "site")
        .annotate(waiting=Count("enrolments__attempts__decisions", distinct=True))
        .order_by("starts_on", "id")
    )
    for run in runs:
        records = "1 record" if run.waiting == 1 else f"{run.waiting} records"
        yield Todo(
            f"Issue {records} of {run.program.title}",
            f"{run.site}, {run.starts_on:%d %b %Y}. The passing standard was met.",
            reverse("run", args=[run.pk]),
            "See the results",
        )
