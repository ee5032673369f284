"""What was decided to change in a program, over all its versions."""

from collections.abc import Iterable

from django.db.models import QuerySet
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from training.dates import day_text
from training.models import Person, Program, ProgramChange, Role
from training.queries.scope import provider_organisations, runs_visible_to
from training.queries.todo import Todo, todo_source


def programs_cared_for(person: Person) -> QuerySet[Program]:
    """Return the programs that ``person`` leads, or teaches on a run."""
    led = Program.objects.filter(provider__in=provider_organisations(person).order_by())
    taught = Program.objects.filter(pk__in=runs_visible_to(person).order_by().values("program"))
    return led | taught


def versions_of(program: Program) -> QuerySet[Program]:
    """Return every version of ``program``, the latest first."""
    return Program.objects.filter(provider=program.provider_id, code=program.code).order_by(
        "-version"
    )


def changes_of(program: Program) -> QuerySet[ProgramChange]:
    """Return the changes decided in any version of ``program``, the latest first."""
    return (
        ProgramChange.objects.filter(program__in=versions_of(program).order_by())
        .select_related("program", "decided_by")
        .order_by("-decided_on", "-pk")
    )


@todo_source
def changes_to_make(person: Person, roles: frozenset[str]) -> Iterable[Todo]:
    """Tell a lead which decided changes are due (one query)."""
    if Role.Kind.LEAD not in roles:
        return
    due = ProgramChange.objects.filter(
        program__provider__in=provider_organisations(person).order_by(),
        done_on__isnull=True,
        due_on__lte=timezone.localdate(),
    ).select_related("program")
    for change in due.order_by("due_on", "pk"):
        yield Todo(
            _("Make a change in {title}").format(title=change.program.title),
            _("Due {due_on}: {change}").format(due_on=day_text(change.due_on), change=change),
            reverse("program_changes", args=[change.program_id]),
            _("See the changes"),
        )
