"""What holders see of the own records: how each stands, the links to them, who has looked."""

from django.db.models import Count, Max, Prefetch, QuerySet
from django.utils import timezone

from certificates.models import OwnLink, Record, RecordLook
from certificates.queries.records import RecordRow, as_rows
from certificates.queries.standing import with_standing
from training.digests import secret_digest
from training.models import Person

LONGEST_TOKEN = 100


def own_records(person: Person) -> list[RecordRow]:
    """Return every record of ``person`` with its standing, the latest first (three queries)."""
    return as_rows(list(_shown(Record.objects.filter(holder=person))))


def own_links(person: Person) -> QuerySet[OwnLink]:
    """Return the links of ``person``, the latest first, with how often they were opened.

    ``days`` counts days and networks of each record; ``last`` is the latest of them.
    """
    return (
        OwnLink.objects.filter(holder=person)
        .prefetch_related(Prefetch("records", Record.objects.only("number").order_by("number")))
        .annotate(days=Count("looks__day", distinct=True), last=Max("looks__first_at"))
        .order_by("-created_at", "pk")
    )


def looks_at(person: Person) -> QuerySet[RecordLook]:
    """Return who looked at the records of ``person``, the latest first."""
    return (
        RecordLook.objects.filter(record__holder=person)
        .select_related("person", "link", "record__decision__attempt__enrolment__run__program")
        .defer("record__document", "record__decision__document", "record__decision__observations")
        .order_by("-first_at", "-pk")
    )


def live_own_link(token: str) -> OwnLink | None:
    """Return the link with this secret if it is in force; None alike for any other."""
    if len(token) > LONGEST_TOKEN:
        return None
    return (
        OwnLink.objects.select_related("holder")
        .filter(token_sha256=secret_digest(token), revoked_at__isnull=True)
        .filter(expires_at__gt=timezone.now(), holder__erasure__isnull=True)
        .first()
    )


def shown_by(link: OwnLink) -> list[RecordRow]:
    """Return the records that ``link`` shows, with their standing (three queries)."""
    return as_rows(list(_shown(Record.objects.filter(own_links=link))))


def _shown(records: QuerySet[Record]) -> QuerySet[Record]:
    return (
        with_standing(records)
        .select_related("provider", "holder", "decision__attempt__enrolment__run__program")
        .order_by("-issued_at", "pk")
    )
