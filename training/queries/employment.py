"""Who works for whom, and which offers of employment wait for an answer.

- A contractor's manager sees the offers of the own contractors, and their employments that
  hold today or begin later.
- Everybody sees the own offers and employments.
"""

from datetime import date

from django.db.models import Q, QuerySet
from django.utils import timezone

from training.models import Employment, EmploymentOffer, Person
from training.queries.scope import contractor_organisations


def offers_made_by(manager: Person) -> QuerySet[EmploymentOffer]:
    """Return the offers of the contractors managed, the latest first."""
    return EmploymentOffer.objects.filter(
        organisation__in=contractor_organisations(manager).order_by()
    ).select_related("organisation", "person", "offered_by")


def offers_to(person: Person) -> QuerySet[EmploymentOffer]:
    """Return the offers that were made to ``person``, the latest first."""
    return EmploymentOffer.objects.filter(person=person).select_related("organisation")


def waiting_offers(person: Person) -> QuerySet[EmploymentOffer]:
    """Return the offers to ``person`` that wait for an answer, the earliest first."""
    return offers_to(person).filter(state=EmploymentOffer.State.WAITING).order_by("offered_at")


def employments_kept_by(manager: Person) -> QuerySet[Employment]:
    """Return the employments at the contractors managed that are not over."""
    return not_over(
        Employment.objects.filter(organisation__in=contractor_organisations(manager).order_by())
    ).select_related("organisation", "person")


def own_employments(person: Person) -> QuerySet[Employment]:
    """Return all employments of ``person``, the latest first."""
    return Employment.objects.filter(person=person).select_related("organisation")


def not_over(employments: QuerySet[Employment], on: date | None = None) -> QuerySet[Employment]:
    """Leave out those that ended before ``on``, or before today."""
    return employments.filter(Q(until=None) | Q(until__gte=on or timezone.localdate()))


def mark_of(person: Person) -> str:
    """Return a short text that differs once an employment of ``person`` began or ended (a query).

    A page carries it, so that nobody answers what another page has changed meanwhile.
    """
    rows = Employment.objects.filter(person=person).order_by("pk").values_list("pk", "until")
    last = list(rows)[-2:]
    return ";".join(f"{pk}:{until or 'open'}" for pk, until in last)
