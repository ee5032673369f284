"""What waits to be done about the devices of a run, for the first page."""

from collections.abc import Iterable

from django.db.models import Count, Q
from django.urls import reverse

from training.models import CourseRun, Person, Role
from training.queries.scope import provider_organisations
from training.queries.todo import Todo, todo_source


@todo_source
def devices_to_look_at(person: Person, roles: frozenset[str]) -> Iterable[Todo]:
    """Tell a lead on which runs something was set aside or lost (one query).

    A loss waits until somebody has written down what was done about it.
    """
    if Role.Kind.LEAD not in roles:
        return
    lost = Q(packs__losses__unsent__gt=0, packs__losses__answer__isnull=True)
    unanswered = Q(packs__set_aside__isnull=False, packs__set_aside__answer__isnull=True)
    runs = (
        CourseRun.objects.filter(program__provider__in=provider_organisations(person))
        .select_related("program", "site")
        .annotate(
            aside=Count("packs__set_aside", filter=unanswered, distinct=True),
            lost=Count("packs__losses", filter=lost, distinct=True),
        )
        .filter(Q(aside__gt=0) | Q(lost__gt=0))
        .order_by("starts_on", "id")
    )
    for run in runs:
        page = reverse("run_devices", args=[run.pk])
        where = f"{run.program.title}, {run.site}"
        if run.aside:
            events = "1 score" if run.aside == 1 else f"{run.aside} scores"
            yield Todo(
                f"Answer {events} set aside at {where}",
                "Sent by a device, and not taken in: decide what becomes of them.",
                f"{page}#aside",
                "See why",
            )
        if run.lost:
            devices = "A device" if run.lost == 1 else f"Devices, {run.lost} times,"
            yield Todo(
                f"Have it scored again, and answer it: a loss at {where}",
                f"{devices} lost scores that had not been sent.",
                f"{page}#losses",
                "See what is lost",
            )
