"""What waits to be done about standards and attempts, for the first page."""

from collections.abc import Iterable

from django.db.models import Count, Exists, OuterRef, Q
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from assessments.models import Attempt, SealedStandard
from training.dates import day_text
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
            _("Seal the passing standard of {title}").format(title=program.title),
            _("{code}, version {version}. No attempt can start before.").format(
                code=program.code, version=program.version
            ),
            reverse("standard", args=[program.pk]),
            _("Look at the draft"),
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
        yield Todo(
            ngettext(
                "Finish {count} attempt at {title}",
                "Finish {count} attempts at {title}",
                run.waiting,
            ).format(count=run.waiting, title=run.program.title),
            _("{site}, {starts_on}. Score what is missing, then decide.").format(
                site=run.site, starts_on=day_text(run.starts_on)
            ),
            reverse("run", args=[run.pk]),
            _("See the attempts"),
        )
