"""The records as a list shows them."""

from dataclasses import dataclass

from django.db.models import QuerySet

from certificates.models import Record
from certificates.queries.scope import records_visible_to
from certificates.queries.standing import Standing, standing_of, with_standing
from training.models import Person


@dataclass(frozen=True)
class RecordRow:
    """A record and how it stands today."""

    record: Record
    standing: Standing


def record_rows(person: Person, holder: str = "") -> QuerySet[Record]:
    """Return the visible records, the latest first, of holders whose name holds ``holder``."""
    records = (
        with_standing(records_visible_to(person))
        .select_related("holder", "decision__attempt__enrolment__run__program")
        .order_by("-issued_at", "pk")
    )
    return records.filter(holder__full_name__icontains=holder) if holder else records


def as_rows(records: list[Record]) -> list[RecordRow]:
    """Return each record with its standing; asks nothing of the database."""
    return [RecordRow(record, standing_of(record)) for record in records]
