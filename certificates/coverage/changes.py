"""What begins and what ends on which day, ready to be gone through."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date

from certificates.coverage.matcher import Matcher
from certificates.coverage.model import Post
from certificates.coverage.stays import DAY, Stays, Stretch


@dataclass(slots=True)
class Day:
    """The changes of a day."""

    opening: list[Post] = field(default_factory=list)
    closing: list[str] = field(default_factory=list)
    gained: list[tuple[str, str, int]] = field(default_factory=list)
    lost: list[tuple[str, str]] = field(default_factory=list)

    def make(self, matcher: Matcher) -> None:
        """Make the changes: first what ends, so that everybody is free who can be."""
        for post, person in self.lost:
            matcher.remove(post, person)
        for post in self.closing:
            matcher.remove_post(post)
        for opened in self.opening:
            matcher.add_post(opened.key, opened.places)
        for post, person, until in self.gained:
            matcher.add(post, person, until)
        matcher.rematch()


class Changes:
    """The changes of all days from ``first`` to ``last``; those of the first day come first."""

    def __init__(self, posts: Iterable[Post], held: Stays, first: date, last: date) -> None:
        self._first, self._last = first, last
        self._days: defaultdict[date, Day] = defaultdict(Day)
        self._closes: dict[str, date] = {}
        for post in posts:
            begins, closes = max(post.first, first), min(post.last, last)
            self._closes[post.key] = closes
            if begins <= closes:
                self._days[begins].opening.append(post)
                self._days[closes + DAY].closing.append(post.key)
                for person, stretches in held[post.key].items():
                    self.enter(post.key, person, stretches)

    def enter(self, post: str, person: str, stretches: Iterable[Stretch]) -> None:
        """Note when an ability begins and ends; whatever ends with its post needs no note."""
        for low, high in stretches:
            self._days[low].gained.append((post, person, high.toordinal()))
            if high < self._closes[post]:
                self._days[high + DAY].lost.append((post, person))

    def strike(self, post: str, person: str, stretches: Iterable[Stretch]) -> None:
        """Take back what ``enter`` noted."""
        for low, high in stretches:
            self._days[low].gained.remove((post, person, high.toordinal()))
            if high < self._closes[post]:
                self._days[high + DAY].lost.remove((post, person))

    def make(self, day: date, matcher: Matcher) -> None:
        """Make the changes of a day, if there are any."""
        if day in self._days:
            self._days[day].make(matcher)

    def stretches(self, start: date) -> list[Stretch]:
        """From a day to the last day, the stretches of days without a change."""
        starts = [start, *sorted(day for day in self._days if start < day <= self._last)]
        return list(zip(starts, [*(day - DAY for day in starts[1:]), self._last], strict=True))
