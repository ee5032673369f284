"""Which records of a crew may want confirming: a cheap first choice among very many.

It leaves out only what cannot be due; whether something is, ``qualified_sql`` says. A crew of
thousands has ten times as many records that nobody needs to look at as such that are due.
"""

from collections.abc import Mapping
from datetime import date, timedelta
from uuid import UUID

from dateutil.relativedelta import relativedelta  # type: ignore[import-untyped]
from django.db.models import Q, QuerySet
from django.utils import timezone

from assessments.engine.qualification.continuity import DUE_SOON
from assessments.models import SealedStandard
from certificates.models import Confirmation, Record
from training.models import Person

# The days at two sites differ by one at most, and months of different length by three.
SLACK = timedelta(days=5)


def may_be_due(crew: QuerySet[Person]) -> list[UUID]:
    """Return the keys of the records of ``crew`` whose confirmation may be due (two queries)."""
    asked = Q()
    for (months, grace), standards in _standards().items():
        asked |= _near(months, grace, standards)
    if not asked:
        return []
    today = timezone.localdate()
    records = Record.objects.filter(
        asked,
        Q(valid_until=None) | Q(valid_until__gte=today - SLACK),
        holder__in=crew.order_by(),
        replaced_by=None,
    )
    return list(records.order_by().values_list("pk", flat=True))


def _standards() -> Mapping[tuple[int, int], list[UUID]]:
    """Return the standards with a rule of continuity, by its months and days of grace."""
    found: dict[tuple[int, int], list[UUID]] = {}
    rows = SealedStandard.objects.filter(
        document__about__qualification__has_key="continuity"
    ).values_list("pk", "document__about__qualification__continuity")
    for pk, rule in rows.order_by():
        if isinstance(rule, dict):
            found.setdefault((rule["every_months"], rule["grace_days"]), []).append(pk)
    return found


def _near(months: int, grace: int, standards: list[UUID]) -> Q:
    """Return what is due soon, or was due no longer ago than the grace, by one rule.

    The day due lies ``months`` after the first day or after the last confirmation that counts.
    One that is confirmed lately is due later, or, where that came too late, no more.
    """
    last: date = timezone.localdate() + DUE_SOON - relativedelta(months=months) + SLACK
    first: date = (
        timezone.localdate() - timedelta(days=grace) - relativedelta(months=months) - SLACK
    )
    # Sets of keys and no Exists: among alternatives the database would try each row by itself.
    confirmed = Confirmation.objects.filter(retraction=None).order_by().values("attempt")
    return Q(
        # A correction began when the first record of its decision did.
        Q(replaces__isnull=False)
        | Q(issued_at__date__gte=first)
        | Q(decision__attempt__in=confirmed.filter(worked_on__gte=first)),
        Q(replaces__isnull=False) | Q(issued_at__date__lte=last),
        ~Q(decision__attempt__in=confirmed.filter(worked_on__gt=last)),
        decision__attempt__standard__in=standards,
    )
