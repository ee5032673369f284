"""Who sees what of panels; every getter returns one QuerySet, built without a query.

A lead sees the panels of the own provider. A judge sees the own seats, never the desk of the
panel; nobody else learns that a panel is there.
"""

from django.db.models import QuerySet

from assessments.models import Judge, Panel
from training.models import Person
from training.queries.scope import provider_organisations


def panels_visible_to(person: Person) -> QuerySet[Panel]:
    """Return the panels on the programs of the providers that ``person`` leads."""
    return Panel.objects.filter(program__provider__in=provider_organisations(person).order_by())


def seats_of(person: Person) -> QuerySet[Judge]:
    """Return the seats that ``person`` was invited to, those stood down from as well."""
    return Judge.objects.filter(person=person)
