"""Which guides a person put away, learned with the roles: every page asks for both."""

from django.db.models import CharField, Value
from django.db.models.functions import Concat

from training.models import Enrolment, GuideRead, Person, Role
from training.queries.scope import TRAINEE

GUIDE = "guide:"


def roles_and_guides(person: Person) -> tuple[frozenset[str], frozenset[str]]:
    """Return what ``scope.roles_of`` does, and the keys of the guides put away (one query)."""
    held = Role.objects.filter(person=person).order_by().values_list("kind", flat=True)
    enrolled = (
        Enrolment.objects.filter(person=person)
        .order_by()
        .values_list(Value(TRAINEE, CharField()), flat=True)
    )
    read = GuideRead.objects.filter(person=person).values_list(
        Concat(Value(GUIDE), "guide", output_field=CharField()), flat=True
    )
    found = frozenset(held.union(enrolled, read))
    guides = frozenset(each.removeprefix(GUIDE) for each in found if each.startswith(GUIDE))
    return frozenset(each for each in found if not each.startswith(GUIDE)), guides
