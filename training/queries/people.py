"""People and organisations as a lead sees them."""

from django.db.models import Count, Prefetch, Q, QuerySet

from training.models import Employment, Organisation, Person, Role
from training.queries.scope import OUTSIDE, people_visible_to, provider_organisations


def people_rows(person: Person, search: str = "") -> QuerySet[Person]:
    """Return whom a lead looks after, with roles and current employer (three queries)."""
    current = Employment.objects.filter(until__isnull=True).select_related("organisation")
    rows = (
        people_visible_to(person)
        .prefetch_related(
            Prefetch("roles", Role.objects.select_related("organisation").order_by("kind")),
            Prefetch("employments", current, to_attr="current"),
        )
        .order_by("full_name", "id")
    )
    if search:
        rows = rows.filter(Q(full_name__icontains=search) | Q(email__icontains=search))
    return rows


def organisation_rows() -> QuerySet[Organisation]:
    """Return contractors and owners, with how many a contractor employs (one query)."""
    return (
        Organisation.objects.exclude(kind=Organisation.Kind.PROVIDER)
        .annotate(crew=Count("employments", filter=Q(employments__until__isnull=True)))
        .order_by("kind", "name")
    )


def roles_given_by(actor: Person, person: Person) -> QuerySet[Role]:
    """Return the roles of ``person`` that ``actor`` may take away."""
    return (
        Role.objects.filter(
            Q(organisation__in=provider_organisations(actor)) | Q(kind__in=OUTSIDE),
            person=person,
        )
        .exclude(person=actor, kind=Role.Kind.LEAD)
        .select_related("organisation")
    )
