"""Who sees which project; every getter returns one QuerySet, built without a query.

- A contractor's manager sees and keeps the projects of the own contractor.
- An owner's representative sees the projects for the own organisation and may describe
  their posts; of the crew, only what a submittal holds.
- Everybody else sees none. Whoever has a share link is no person here: the link is asked.
"""

from django.db.models import Q, QuerySet

from certificates.models import Project
from training.models import Person
from training.queries.scope import contractor_organisations, owner_organisations


def projects_visible_to(person: Person) -> QuerySet[Project]:
    """Return the projects of the contractors managed, and those for the owners represented."""
    return Project.objects.filter(
        Q(contractor__in=contractor_organisations(person).order_by())
        | Q(owner__in=owner_organisations(person).order_by())
    )


def projects_kept_by(person: Person) -> QuerySet[Project]:
    """Return the projects whose crew ``person`` manages: coverage, submittals, links, day lists."""
    return Project.objects.filter(contractor__in=contractor_organisations(person).order_by())
