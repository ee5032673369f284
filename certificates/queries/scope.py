"""Who sees what was issued; the getter returns one QuerySet, built without a query.

- A lead sees the records of the own provider, an instructor those of the runs they teach.
- A holder sees the own records.
- A contractor's manager sees the records of the people whom the own organisation employs
  today, whoever issued them: on the day after somebody leaves, no longer.

What is not in the QuerySet does not exist for that person: views answer with 404.
"""

from django.db.models import Q, QuerySet

from certificates.models import Record
from training.models import Person
from training.queries.scope import crew_visible_to, provider_organisations, runs_visible_to


def records_visible_to(person: Person) -> QuerySet[Record]:
    """Return the records of the runs led or taught, of the own crew, and the own ones."""
    return Record.objects.filter(
        Q(provider__in=provider_organisations(person).order_by())
        | Q(decision__attempt__enrolment__run__in=runs_visible_to(person).order_by())
        | Q(holder=person)
        | Q(holder__in=crew_visible_to(person).order_by())
    )
