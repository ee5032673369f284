"""The chain of confirmations of a record, and whose confirmation is due."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any
from zoneinfo import ZoneInfo

from django.db import connection
from django.db.models import Min, QuerySet
from django.utils import timezone

from assessments.engine.qualification import Confirmed, Kept, Rules, kept
from certificates.models import Confirmation, Record
from certificates.queries.may_be_due import may_be_due
from certificates.queries.qualified import CONFIRMATION_DUE, IN_GRACE, Held, parameters
from certificates.queries.qualified_sql import EVERY_HELD
from certificates.queries.ranges import rules_of
from training.models import Person
from training.queries.scope import contractor_organisations, crew_visible_to

WANTED = [CONFIRMATION_DUE, IN_GRACE]

# An alias keeps the names of the columns that EVERY_HELD selects.
DUE = f"""
SELECT due.*, count(*) OVER () FROM ({EVERY_HELD}) due
WHERE due.word = ANY(%(words)s) AND due.holder_id <> %(reader)s
ORDER BY due.confirm_by, due.full_name, due.record_id LIMIT %(limit)s
"""


@dataclass(frozen=True)
class Chain:
    """What keeps a record: its rules, when it began, and what was confirmed (not taken back).

    ``today`` is the day at the record's site; ``zone`` names the site's time zone.
    """

    rules: Rules | None
    start: date
    valid_until: date | None
    zone: str
    today: date
    confirmed: tuple[Confirmed, ...]

    def kept(self) -> Kept:
        """Return how the record stands today by its own last day and its confirmations."""
        return kept(
            self.rules.continuity if self.rules else None,
            start=self.start,
            valid_until=self.valid_until,
            confirmations=self.confirmed,
            on=self.today,
        )


def chain_of(record: Record) -> Chain:
    """Return the chain of ``record``, as far as is known now (four queries)."""
    attempt = record.decision.attempt
    zone = attempt.enrolment.run.site.time_zone
    # A correction goes on with the chain of the first record of its decision.
    begun = Record.objects.filter(decision=record.decision_id).aggregate(at=Min("issued_at"))["at"]
    confirmed = Confirmation.objects.filter(attempt=attempt, retraction=None)
    return Chain(
        rules=rules_of([attempt.standard_id])[attempt.standard_id],
        start=timezone.localdate(begun, ZoneInfo(zone)),
        valid_until=record.valid_until,
        zone=zone,
        today=timezone.localdate(timezone=ZoneInfo(zone)),
        confirmed=tuple(
            Confirmed(worked_on, signed_on)
            for worked_on, signed_on in confirmed.values_list("worked_on", "signed_on")
        ),
    )


def confirmations_due(manager: Person, limit: int) -> tuple[list[Held], int]:
    """Return the crew's records whose confirmation is due or overdue in grace, and how many.

    The one due first comes first; ``limit`` at most are returned. The manager's own are not
    in it: nobody confirms the own work. Four queries; two where none may be due.
    """
    records = may_be_due(crew_visible_to(manager))
    if not records:
        return [], 0
    values: dict[str, Any] = {
        **parameters(None, records=records),
        "words": WANTED,
        "reader": manager.pk,
        "limit": limit,
    }
    with connection.cursor() as cursor:
        cursor.execute(DUE, values)
        rows = cursor.fetchall()
    return [Held(*row[:-1]) for row in rows], rows[0][-1] if rows else 0


def confirmations_signed_for(manager: Person) -> QuerySet[Confirmation]:
    """Return what the contractors managed have confirmed, the latest first."""
    return (
        Confirmation.objects.filter(organisation__in=contractor_organisations(manager).order_by())
        .select_related("record__holder", "organisation", "signed_by", "retraction", "project")
        .defer("record__document")
        .order_by("-signed_at", "-pk")
    )


def confirmations_of(attempts: Iterable[Any]) -> QuerySet[Confirmation]:
    """Return the confirmations of these attempts by the day worked, with their retractions."""
    return (
        Confirmation.objects.filter(attempt__in=list(attempts))
        .select_related("organisation", "signed_by", "retraction")
        .order_by("worked_on", "pk")
    )
