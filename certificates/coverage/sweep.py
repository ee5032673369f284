"""Coverage day by day: one matching carried through all changes from the first day to the last."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import date

from certificates.coverage.gaps import gaps, short_part
from certificates.coverage.matcher import Matcher
from certificates.coverage.model import Able, Coverage, Gap, Names, Post, Span
from certificates.coverage.reasons import first_break
from certificates.coverage.stays import DAY, Stays, Stretch, checked_posts, checked_window, stays

Key = tuple[tuple[str, int, frozenset[str]], ...]


def coverage(
    posts: Iterable[Post],
    able: Iterable[Able],
    *,
    first: date,
    last: date,
    names: Names | None = None,
) -> Coverage:
    """Whether all posts can be filled at once on each day from ``first`` to ``last``.

    Each mason fills one place at a time. From one span to the next, whoever can stay stays; only
    then are places filled, moving as few people as it takes. The same input in any order gives
    the same result. CoverageError for days in the wrong order, no places, a key that comes twice,
    or an ability for a post that is not among the posts.
    """
    able = list(able)
    rows = checked_posts(posts)
    checked_window(first, last)
    sweep = Sweep(rows, stays(rows, able, first=first, last=last), first, last, names or {})
    spans = sweep.spans()
    return Coverage(first, last, rows, spans, first_break(rows, able, spans, names or {}))


@dataclass(slots=True)
class _Day:
    """What changes on a day."""

    opening: list[Post] = field(default_factory=list)
    closing: list[str] = field(default_factory=list)
    gained: list[tuple[str, str, int]] = field(default_factory=list)
    lost: list[tuple[str, str]] = field(default_factory=list)


class Sweep:
    """One matching, and the changes of each day that it still has to go through."""

    def __init__(
        self, posts: tuple[Post, ...], held: Stays, first: date, last: date, names: Names
    ) -> None:
        self.first, self.last, self.names = first, last, names
        self.titles = {post.key: post.title for post in posts}
        self.matcher = Matcher()
        self._days: dict[date, _Day] = defaultdict(_Day)
        self._known: dict[Key, tuple[Gap, ...]] = {}
        for post in posts:
            begins, closes = max(post.first, first), min(post.last, last)
            if begins <= closes:
                self._days[begins].opening.append(post)
                self._days[closes + DAY].closing.append(post.key)
                self._enter(post.key, held[post.key], closes)

    def _enter(self, post: str, people: dict[str, list[Stretch]], closes: date) -> None:
        """Note when each ability begins and ends; with the post itself, all of them end."""
        for person, stretches in people.items():
            for low, high in stretches:
                self._days[low].gained.append((post, person, high.toordinal()))
                if high < closes:
                    self._days[high + DAY].lost.append((post, person))

    def spans(self) -> tuple[Span, ...]:
        """The spans from the first day to the last."""
        starts = sorted({self.first, *(day for day in self._days if day <= self.last)})
        ends = [*(start - DAY for start in starts[1:]), self.last]
        found: list[Span] = []
        for start, end in zip(starts, ends, strict=True):
            if start in self._days:
                self._go_through(self._days[start])
            span = self._span(start, end, found[-1] if found else None)
            if found and _alike(found[-1], span):
                span = replace(found.pop(), last=end)
            found.append(span)
        return tuple(found)

    def _go_through(self, day: _Day) -> None:
        """Make the changes of a day: first what ends, so that everybody is free who can be."""
        for post, person in day.lost:
            self.matcher.remove(post, person)
        for post in day.closing:
            self.matcher.remove_post(post)
        for opened in day.opening:
            self.matcher.add_post(opened.key, opened.places)
        for post, person, until in day.gained:
            self.matcher.add(post, person, until)
        self.matcher.rematch()

    def _span(self, start: date, end: date, before: Span | None) -> Span:
        matcher = self.matcher
        assigned: dict[str, tuple[str, ...]] = {}
        for post in sorted(matcher.places):
            known = before.assigned.get(post) if before and post not in matcher.touched else None
            assigned[post] = tuple(sorted(matcher.at[post])) if known is None else known
        matcher.touched.clear()
        places = sum(matcher.places.values())
        told = self._gaps() if matcher.filled < places else ()
        return Span(start, end, places, matcher.filled, told, assigned)

    def _gaps(self) -> tuple[Gap, ...]:
        """The gaps of now; from one span to the next they are often the same."""
        part = short_part(self.matcher)
        key = tuple((post, part.places[post], frozenset(part.able[post])) for post in part.places)
        if key not in self._known:
            self._known = {key: gaps(part, self.titles, self.names)}
        return self._known[key]


def _alike(one: Span, other: Span) -> bool:
    return (one.places, one.filled, one.gaps, one.assigned) == (
        other.places,
        other.filled,
        other.gaps,
        other.assigned,
    )
