"""What the page of one mason shows to the employer: records, ranges, and what keeps them."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from certificates.models import Confirmation, Record
from certificates.queries.continuity import confirmations_of
from certificates.queries.qualified import Held, held_by, told_tone, tone_of
from certificates.queries.ranges import ranges_stated
from training.models import Employment, Person


@dataclass(frozen=True)
class HeldRecord:
    """A record with its state, its range in rows (None where no rules were sealed) and chain."""

    held: Held
    competency: bool
    basis: str
    rows: list[dict[str, str]] | None
    continuity: str
    renewal: str
    confirmations: list[Confirmation]

    @property
    def tone(self) -> tuple[str, str, str]:
        """Tone, shape and words of the state."""
        return told_tone(tone_of(self.held.word))


def records_of(person: Person, *, at: date | None = None) -> list[HeldRecord]:
    """Return the records of ``person`` as at a day: by program, the latest first. Five queries.

    Of the confirmations all are in it, also those taken back: the retraction says so.
    """
    held = held_by([person.pk], at=at)
    ranges = ranges_stated(row.standard_id for row in held)
    given: dict[UUID, list[Confirmation]] = {}
    for each in confirmations_of({row.attempt_id for row in held}):
        given.setdefault(each.attempt_id, []).append(each)
    documents = dict(
        Record.objects.filter(pk__in=[row.record_id for row in held]).values_list(
            "pk", "competency"
        )
    )
    found = []
    for row in held:
        stated = ranges[row.standard_id] or {}
        found.append(
            HeldRecord(
                held=row,
                competency=bool(documents[row.record_id]),
                basis=stated.get("basis", ""),
                rows=stated.get("rows"),
                continuity=stated.get("continuity", ""),
                renewal=stated.get("renewal", ""),
                confirmations=given.get(row.attempt_id, []),
            )
        )
    return found


def employment_of(person: Person, employers: Iterable[int], today: date) -> Employment | None:
    """Return the employment of ``person`` that lets these employers see the records today."""
    return (
        Employment.objects.filter(person=person, organisation__in=employers, since__lte=today)
        .exclude(until__lt=today)
        .select_related("organisation")
        .order_by("-since", "pk")
        .first()
    )
