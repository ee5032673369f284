"""What waits to be done about the devices of a run, for the first page."""

from collections.abc import Iterable

from django.db.models import Count, Q
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

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
            yield Todo(
                ngettext(
                    "Answer {count} score set aside at {where}",
                    "Answer {count} scores set aside at {where}",
                    run.aside,
                ).format(count=run.aside, where=where),
                _("Sent by a device, and not taken in: decide what becomes of them."),
                f"{page}#aside",
                _("See why"),
            )
        if run.lost:
            yield Todo(
                _("Have it scored again, and answer it: a loss at {where}").format(where=where),
                ngettext(
                    "A device lost scores that had not been sent.",
                    "Devices, {count} times, lost scores that had not been sent.",
                    run.lost,
                ).format(count=run.lost),
                f"{page}#losses",
                _("See what is lost"),
            )
