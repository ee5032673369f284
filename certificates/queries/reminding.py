"""Who is to be told of which day ahead: what lapses, and what wants confirming."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import Exists, OuterRef, Q
from django.utils import timezone

from certificates.models import Record, Reminder
from certificates.queries.qualified import CONFIRMATION_DUE, IN_GRACE, Held, held_by
from training.models import Employment, Person, Role

# Days ahead at which people are told. A run that was missed is made up for: whoever was not
# told at 30 days is told at 29, and whoever is late for several is told of the nearest alone.
AHEAD = {Reminder.Kind.LAPSE: (90, 30, 7), Reminder.Kind.CONFIRMATION: (30, 7)}
BATCH = 500


@dataclass(frozen=True)
class Item:
    """One day to tell one person of; ``days_ahead`` is the step it counts for.

    ``left`` is the number of days from today at the record's site; a confirmation that is
    overdue and in grace has none left. ``own``: the person is the holder.
    """

    held: Held
    kind: Reminder.Kind
    due_on: date
    days_ahead: int
    left: int
    own: bool

    @property
    def key(self) -> tuple[UUID, str, date, int]:
        """What of a reminder to one person is sent once."""
        return self.held.record_id, self.kind.value, self.due_on, self.days_ahead


def step(kind: Reminder.Kind, left: int) -> int | None:
    """Return the nearest step that ``left`` days have come to; None while it is too early.

    >>> [step(Reminder.Kind.LAPSE, left) for left in (91, 90, 31, 30, 8, 7, 0, -1)]
    [None, 90, 90, 30, 30, 7, 7, None]
    """
    if left < 0:
        return None
    return min((days for days in AHEAD[kind] if left <= days), default=None)


def items_by_person() -> dict[int, list[Item]]:
    """Return what every person is to be told of today, sent before or not, the nearest first.

    Holders are told of their own records, a contractor's managers of those of the people whom
    the contractor employs today; once somebody has left, no longer. A manager's own record is
    told once. Seven queries for each 500 holders.
    """
    found: dict[int, list[Item]] = defaultdict(list)
    records = Record.objects.filter(holder=OuterRef("pk"))
    holders = list(
        Person.objects.filter(Exists(records)).order_by("pk").values_list("pk", flat=True)
    )
    for first in range(0, len(holders), BATCH):
        people = holders[first : first + BATCH]
        managers = _managers_of(people)
        for holder, item in _items(people):
            found[holder].append(item)
            for manager in managers[holder] - {holder}:
                found[manager].append(
                    Item(item.held, item.kind, item.due_on, item.days_ahead, item.left, own=False)
                )
    for items in found.values():
        items.sort(key=lambda item: (not item.own, item.due_on, item.held.holder, item.held.number))
    return dict(found)


def _items(people: Sequence[int]) -> Iterator[tuple[int, Item]]:
    held = [each for each in held_by(people) if each.counts]
    days = _today_at({each.record_id for each in held})
    for each in held:
        for kind, due_on in _days(each):
            left = (due_on - days[each.record_id]).days
            ahead = step(kind, left)
            if kind == Reminder.Kind.CONFIRMATION and each.word == IN_GRACE:
                ahead = 0
            if ahead is not None:
                yield each.holder_id, Item(each, kind, due_on, ahead, left, own=True)


def _days(held: Held) -> Iterable[tuple[Reminder.Kind, date]]:
    if held.valid_until is not None:
        yield Reminder.Kind.LAPSE, held.valid_until
    if held.confirm_by is not None and held.word in (CONFIRMATION_DUE, IN_GRACE):
        yield Reminder.Kind.CONFIRMATION, held.confirm_by


def _today_at(records: Iterable[UUID]) -> dict[UUID, date]:
    """Return the day that it is at the site of each record."""
    zones = Record.objects.filter(pk__in=list(records)).values_list(
        "pk", "decision__attempt__enrolment__run__site__time_zone"
    )
    rows = list(zones.order_by())
    today = {zone: timezone.localdate(timezone=ZoneInfo(zone)) for zone in {row[1] for row in rows}}
    return {pk: today[zone] for pk, zone in rows}


def _managers_of(people: Sequence[int]) -> dict[int, set[int]]:
    """Return who manages the crew that each person is on today."""
    today = timezone.localdate()
    employments = Employment.objects.filter(
        Q(until=None) | Q(until__gte=today), since__lte=today, person__in=people
    ).values_list("person", "organisation")
    roles: dict[int, set[int]] = defaultdict(set)
    for organisation, manager in Role.objects.filter(
        kind=Role.Kind.CONTRACTOR,
        organisation__in=Employment.objects.filter(person__in=people).values("organisation"),
    ).values_list("organisation", "person"):
        roles[organisation].add(manager)
    found: dict[int, set[int]] = defaultdict(set)
    for person, organisation in employments:
        found[person] |= roles[organisation]
    return found
