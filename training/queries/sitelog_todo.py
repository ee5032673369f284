"""What of the site log waits for somebody: mortar over its life, protection, notes to write."""

from collections.abc import Iterable
from datetime import timedelta

from django.db.models import DateTimeField, DurationField, ExpressionWrapper, F, Value
from django.db.models.expressions import CombinedExpression
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

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
            _("Throw away batch {batch_label} at {site}").format(
                batch_label=batch.label, site=batch.run.site
            ),
            _("{mix}: its working life ended {length} ago.").format(
                mix=batch.mix, length=in_words(now - batch.over_at)
            ),
            reverse("run_mortar", args=[batch.run_id]),
            _("Say that it is gone"),
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
        where = _("{what} at {grid}, {site}").format(
            what=curing.what, grid=curing.grid, site=curing.run.site
        )
        page = reverse("run_mortar", args=[curing.run_id])
        if curing.over_at <= now:
            title = _("Look at what cured: {where}").format(where=where)
            detail = _("The {hours} hours asked for are over; the protection is still on.").format(
                hours=curing.hours
            )
        else:
            title = _("Keep protected: {where}").format(where=where)
            detail = _("{protection}; {length} left.").format(
                protection=curing.protection, length=in_words(curing.over_at - now)
            )
        yield Todo(title, detail, f"{page}#curing", _("See the curing"))


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
            _("Keep the site log of {site}").format(site=run.site),
            _("{title}: write down with photographs what you do and see.").format(
                title=run.program.title
            ),
            reverse("run_log", args=[run.pk]),
            _("Open the log"),
        )
