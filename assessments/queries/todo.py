"""What waits to be done about standards and attempts, for the first page."""

from collections.abc import Iterable

from django.db.models import Count, Exists, OuterRef, Q
from django.urls import reverse

from assessments.models import Attempt, SealedStandard
from training.models import Person, Role
from training.queries.programs import latest_led
from training.queries.scope import runs_visible_to
from training.queries.todo import Todo, todo_source


@todo_source
def standards_to_seal(person: Person, roles: frozenset[str]) -> Iterable[Todo]:
    """Tell a lead which programs have no passing standard yet (one query)."""
    if Role.Kind.LEAD not in roles:
        return
    sealed = SealedStandard.objects.filter(program=OuterRef("pk"))
    for program in latest_led(person).filter(~Exists(sealed)):
        yield Todo(
            f"Seal the passing standard of {program.title}",
            f"{program.code}, version {program.version}. No attempt can start before.",
            reverse("standard", args=[program.pk]),
            "Look at the draft",
        )


@todo_source
def attempts_to_finish(person: Person, roles: frozenset[str]) -> Iterable[Todo]:
    """Tell an instructor on which runs an attempt is open (one query)."""
    if Role.Kind.INSTRUCTOR not in roles:
        return
    is_open = Q(enrolments__attempts__state=Attempt.State.OPEN)
    runs = (
        runs_visible_to(person)
        .filter(instructors=person)
        .select_related("program", "site")
        .annotate(waiting=Count("enrolments__attempts", filter=is_open, distinct=True))
        .filter(waiting__gt=0)
        .order_by("starts_on", "id")
    )
    for run in runs:
        attempts = "1 attempt" if run.waiting == 1 else f"{run.waiting} attempts"
        yield Todo(
            f"Finish {attempts} at {run.program.title}",
            f"{run.site}, {run.starts_on:%d %b %Y}. Score what is missing, then decide.",
            reverse("run", args=[run.pk]),
            "See the attempts",
        )
