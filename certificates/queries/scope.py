"""Who sees what was issued; the getter returns one QuerySet, built without a query.

- A lead sees the records of the own provider, an instructor those of the runs they teach.
- A holder sees the own records.
- A contractor's manager sees the records of the people whom the own organisation employs
  today, whoever issued them: on the day after somebody leaves, no longer.
- An owner's representative sees the records that a submittal to the own organisation holds.

What is not in the QuerySet does not exist for that person: views answer with 404.
"""

from django.db.models import Q, QuerySet

from certificates.models import Record, SubmittedRecord
from training.models import Person
from training.queries.scope import (
    crew_visible_to,
    owner_organisations,
    provider_organisations,
    runs_visible_to,
)


def records_visible_to(person: Person) -> QuerySet[Record]:
    """Return the records of runs led or taught, of the own crew, submitted, and the own ones."""
    return Record.objects.filter(
        Q(provider__in=provider_organisations(person).order_by())
        | Q(decision__attempt__enrolment__run__in=runs_visible_to(person).order_by())
        | Q(holder=person)
        | Q(holder__in=crew_visible_to(person).order_by())
        | Q(
            pk__in=SubmittedRecord.objects.filter(
                submittal__project__owner__in=owner_organisations(person).order_by()
            ).values("record")
        )
    )
