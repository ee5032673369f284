"""A coverage as rows to show: gaps with their days, who fills which post, and for how long."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from django.utils.translation import gettext as _

from certificates.coverage import Coverage, Gap, Span
from certificates.queries.project_coverage import ProjectCoverage
from certificates.queries.qualified import Held
from certificates.wording import place_title

DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class GapDays:
    """A gap, and the days on which it stays the same, both ends included."""

    first: date
    last: date
    gap: Gap


@dataclass(frozen=True, slots=True)
class Filled:
    """Who fills a place, and by which record."""

    person: int
    name: str
    held: Held


@dataclass(frozen=True, slots=True)
class PostDay:
    """A post, or the lead of one, on a day: who fills it, and how many places stay empty."""

    key: str
    title: str
    places: int
    filled: list[Filled]

    @property
    def empty(self) -> int:
        """How many places nobody fills."""
        return self.places - len(self.filled)

    @property
    def state(self) -> str:
        """How far it is filled, in words."""
        if not self.empty:
            if self.places == 1:
                return _("Filled")
            return _("All {places} filled").format(places=self.places)
        if self.places == 1:
            return _("Empty")
        return _("{empty} of {places} empty").format(empty=self.empty, places=self.places)


@dataclass(frozen=True, slots=True)
class Stay:
    """One person at one post for days on end; without ``filled`` as many ``places`` are empty."""

    key: str
    title: str
    first: date
    last: date
    places: int
    filled: Filled | None


def gap_days(coverage: Coverage) -> list[GapDays]:
    """The gaps in the order of their first days; one that goes on unchanged is one row."""
    found: list[GapDays] = []
    running: dict[Gap, int] = {}
    for span in coverage.spans:
        before, running = running, {}
        for gap in span.gaps:
            place = before.get(gap)
            if place is None:
                place = len(found)
                found.append(GapDays(span.first, span.last, gap))
            else:
                found[place] = GapDays(found[place].first, span.last, gap)
            running[gap] = place
    return found


def span_on(coverage: Coverage, on: date) -> Span:
    """The span that a day is in; StopIteration for a day outside."""
    return next(span for span in coverage.spans if span.first <= on <= span.last)


def short_days(coverage: Coverage) -> int:
    """On how many days a place stays empty."""
    return sum((span.last - span.first).days + 1 for span in coverage.spans if span.unfilled)


def post_days(found: ProjectCoverage, on: date) -> list[PostDay]:
    """The posts of a day in the project's order, each before its lead."""
    assigned = span_on(found.coverage, on).assigned
    return [
        PostDay(
            place.key,
            place_title(place.title),
            place.places,
            [_filled(found, place.key, person) for person in assigned[place.key]],
        )
        for place in found.facts.places
        if place.key in assigned
    ]


def stays_of(found: ProjectCoverage) -> list[Stay]:
    """Who is at which post from when to when, and from when to when places are empty.

    In the order of the posts, then of first days; people before empty places, by name.
    """
    rows: list[Stay] = []
    for place in found.facts.places:
        own = list(_of_post(found, place.key, place.title, place.places))
        rows += sorted(
            own,
            key=lambda one: (
                one.first,
                one.filled is None,
                (one.filled.name, one.filled.person) if one.filled else ("", 0),
            ),
        )
    return rows


def _of_post(found: ProjectCoverage, key: str, title: str, places: int) -> Iterator[Stay]:
    running: dict[str, date] = {}
    empty: tuple[date, int] | None = None
    last = found.coverage.last
    for span in (*found.coverage.spans, Span(last + DAY, last + DAY, 0, 0, (), {})):
        there = span.assigned.get(key)
        now = set(there or ())
        for person in running.keys() - now:
            filled = _filled(found, key, person)
            yield Stay(key, title, running.pop(person), span.first - DAY, 1, filled)
        running.update((person, span.first) for person in now - running.keys())
        short = 0 if there is None else places - len(there)
        if empty and empty[1] != short:
            yield Stay(key, title, empty[0], span.first - DAY, empty[1], None)
            empty = None
        if short and not empty:
            empty = (span.first, short)


def _filled(found: ProjectCoverage, key: str, person: str) -> Filled:
    number = int(person)
    return Filled(number, found.people[number], found.held[key, number])
