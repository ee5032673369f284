"""Who reads the evidence on a standard: who leads or teaches its program."""

from django.db.models import QuerySet

from assessments.models import EvidenceReport, SealedStandard
from assessments.queries.scope import drafts_visible_to
from training.models import Person


def studied_by(person: Person) -> QuerySet[SealedStandard]:
    """Return the sealed standards whose evidence ``person`` may read: those led or taught."""
    return SealedStandard.objects.filter(program__in=drafts_visible_to(person).order_by())


def reports_visible_to(person: Person) -> QuerySet[EvidenceReport]:
    """Return the evidence reports on these standards."""
    return EvidenceReport.objects.filter(standard__in=studied_by(person).order_by())
