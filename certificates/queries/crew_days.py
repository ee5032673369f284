"""On which days a contractor employs whom, for planning ahead."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from zoneinfo import ZoneInfo

from django.db.models import Q
from django.utils import timezone

from certificates.coverage.stays import joined
from certificates.models import Project
from certificates.queries.needs import Stretch
from training.models import Employment


@dataclass(frozen=True, slots=True)
class Crew:
    """The people of a crew by name, and from when to when each is employed."""

    people: dict[int, str]
    days: dict[int, list[Stretch]]

    def on(self, person: int, day: date) -> bool:
        """Whether the person is employed on the day."""
        return any(first <= day <= last for first, last in self.days.get(person, ()))


def today_at(project: Project) -> date:
    """The day that it is now where the project is."""
    return timezone.localdate(timezone=ZoneInfo(project.time_zone))


def crew_of_project(project: Project) -> Crew:
    """Those whom the project's contractor employs today, with all their days there (one query).

    Nobody else: a contractor sees the records of those who work there, neither of those who left
    nor of those who are still to come.
    """
    today = timezone.localdate()
    now = Employment.objects.filter(
        Q(until__isnull=True) | Q(until__gte=today),
        since__lte=today,
        organisation=project.contractor_id,
    )
    return _crew(project, Q(person__in=now.order_by().values("person")))


def employed_of(project: Project, people: Iterable[int]) -> Crew:
    """Of some people those who were or are at the contractor, with their days (one query)."""
    return _crew(project, Q(person__in=list(people)))


def _crew(project: Project, who: Q) -> Crew:
    rows = (
        Employment.objects.filter(who, organisation=project.contractor_id)
        .order_by("person__full_name", "person", "since")
        .values_list("person", "person__full_name", "since", "until")
    )
    people: dict[int, str] = {}
    days: dict[int, list[Stretch]] = {}
    for person, name, since, until in rows:
        people[person] = name
        days.setdefault(person, []).append((since, until or date.max))
    return Crew(people, {person: _joined(stretches) for person, stretches in days.items()})


def _joined(stretches: list[Stretch]) -> list[Stretch]:
    # ``joined`` looks at the day after an end, which the last day of the calendar does not have.
    return stretches if len(stretches) == 1 else joined(stretches)
