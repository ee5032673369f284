"""What of the site log waits for somebody: mortar over its life, protection, notes to write."""

from collections.abc import Iterable
from datetime import timedelta

from django.db.models import DateTimeField, DurationField, ExpressionWrapper, F, Value
from django.db.models.expressions import CombinedExpression
from django.urls import reverse
from django.utils import timezone

from training.models import CourseRun, Curing, Enrolment, MortarBatch, Person, Role
from training.queries.scope import TRAINEE, runs_visible_to
from training.queries.sitelog_clocks import HOUR, MINUTE, in_words
from training.queries.todo import Todo, todo_source


def _later(moment: str, number: str, unit: timedelta) -> "ExpressionWrapper[CombinedExpression]":
    length = ExpressionWrapper(F(number) * Value(unit), output_field=DurationField())
    return ExpressionWrapper(F(moment) + length, output_field=DateTimeField())


@todo_source
def mortar_to_throw_away(person: Person, roles: frozenset[str]) -> Iterable[Todo]:
    """Tell who keeps a log which batches are over their working life (one query)."""
    if not roles & {Role.Kind.LEAD, Role.Kind.INSTRUCTOR}:
        return
    now = timezone.now()
    over = (
        MortarBatch.objects.filter(
            run__in=runs_visible_to(person).order_by().values("pk"), discarded_at__isnull=True
        )
        .annotate(over_at=_later("mixed_at", "working_minutes", MINUTE))
        .filter(over_at__lte=now)
        .select_related("run__site")
        .order_by("over_at", "pk")
    )
    for batch in over:
        yield Todo(
            f"Throw away batch {batch.label} at {batch.run.site}",
            f"{batch.mix}: its working life ended {in_words(now - batch.over_at)} ago.",
            reverse("run_mortar", args=[batch.run_id]),
            "Say that it is gone",
        )


@todo_source
def protection_to_look_at(person: Person, roles: frozenset[str]) -> Iterable[Todo]:
    """Tell who keeps a log what still cures, and where the hours are over (one query)."""
    if not roles & {Role.Kind.LEAD, Role.Kind.INSTRUCTOR}:
        return
    now = timezone.now()
    curings = (
        Curing.objects.filter(
            run__in=runs_visible_to(person).order_by().values("pk"), ended_at__isnull=True
        )
        .annotate(over_at=_later("started_at", "hours", HOUR))
        .select_related("run__site")
        .order_by("over_at", "pk")
    )
    for curing in curings:
        where = f"{curing.what} at {curing.grid}, {curing.run.site}"
        page = reverse("run_mortar", args=[curing.run_id])
        if curing.over_at <= now:
            title = f"Look at what cured: {where}"
            detail = f"The {curing.hours} hours asked for are over; the protection is still on."
        else:
            title = f"Keep protected: {where}"
            detail = f"{curing.protection}; {in_words(curing.over_at - now)} left."
        yield Todo(title, detail, f"{page}#curing", "See the curing")


@todo_source
def log_to_write(person: Person, roles: frozenset[str]) -> Iterable[Todo]:
    """Tell a trainee where the log of a run that is on today is kept (one query)."""
    if TRAINEE not in roles:
        return
    today = timezone.localdate()
    enrolments = Enrolment.objects.filter(
        person=person,
        state=Enrolment.State.ENROLLED,
        run__state=CourseRun.State.OPEN,
        run__starts_on__lte=today,
        run__ends_on__gte=today,
    ).select_related("run__site", "run__program")
    for enrolment in enrolments.order_by("run__starts_on", "pk"):
        run = enrolment.run
        yield Todo(
            f"Keep the site log of {run.site}",
            f"{run.program.title}: write down with photographs what you do and see.",
            reverse("run_log", args=[run.pk]),
            "Open the log",
        )
