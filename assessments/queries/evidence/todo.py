"""When it is time for a lead to look at the figures of a standard again."""

from collections.abc import Iterable

from django.db.models import Count, F, Min, OuterRef, Q, Subquery
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from assessments.models import EvidenceReport, SealedStandard
from assessments.queries.evidence.reports import is_due
from training.models import Person, Role
from training.queries.scope import provider_organisations
from training.queries.todo import Todo, todo_source


@todo_source
def evidence_to_look_at(person: Person, roles: frozenset[str]) -> Iterable[Todo]:
    """Tell a lead on which standards enough was decided since the last report (one query)."""
    if Role.Kind.LEAD not in roles:
        return
    reports = EvidenceReport.objects.filter(standard=OuterRef("pk")).order_by("-made_at")
    counts = Q(attempts__decisions__replaces__isnull=True) & (
        Q(last__isnull=True) | Q(attempts__decisions__decided_at__gt=F("last"))
    )
    standards = (
        SealedStandard.objects.filter(
            program__provider__in=provider_organisations(person).order_by()
        )
        .select_related("program")
        .defer("document")
        .annotate(last=Subquery(reports.values("made_at")[:1]))
        .annotate(
            new=Count("attempts__decisions", filter=counts),
            first=Min("attempts__decisions__decided_at", filter=counts),
        )
        .filter(new__gt=0)
        .order_by("program__title", "program", "serial")
    )
    for standard in standards:
        if is_due(standard.new, standard.last or standard.first):
            yield _about(standard, standard.new, standard.last is None)


def _about(standard: SealedStandard, new: int, never: bool) -> Todo:
    if never:
        text = ngettext(
            "Standard {serial}: {count} attempt was decided and there is no report yet.",
            "Standard {serial}: {count} attempts were decided and there is no report yet.",
            new,
        )
    else:
        text = ngettext(
            "Standard {serial}: {count} attempt was decided since the last report.",
            "Standard {serial}: {count} attempts were decided since the last report.",
            new,
        )
    return Todo(
        _("Look at the evidence on {title}").format(title=standard.program.title),
        text.format(serial=standard.serial, count=new),
        reverse("evidence", args=[standard.pk]),
        _("See the evidence"),
    )
