"""Coverage day by day: one matching carried through all changes from the first day to the last."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date

from certificates.coverage.changes import Changes
from certificates.coverage.gaps import Gaps
from certificates.coverage.matcher import Matcher
from certificates.coverage.model import Able, Coverage, CoverageError, Names, Post, Span
from certificates.coverage.reasons import first_break
from certificates.coverage.stays import DAY, Stretch, checked_posts, checked_window, stays


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
    return Outlook(posts, able, first=first, last=last, names=names).coverage


class Outlook:
    """A coverage that is kept: when what one mason is able to do changes, little is done again.

    ``coverage`` is what the function of this name gives, and what it would give for everything
    that was changed since. Takes what ``coverage`` takes, with the same errors.
    """

    coverage: Coverage

    def __init__(
        self,
        posts: Iterable[Post],
        able: Iterable[Able],
        *,
        first: date,
        last: date,
        names: Names | None = None,
    ) -> None:
        checked_window(first, last)
        self._first, self._last, self._names = first, last, names or {}
        self._posts = checked_posts(posts)
        self._held = stays(self._posts, able, first=first, last=last)
        self._changes = Changes(self._posts, self._held, first, last)
        self._gaps = Gaps({post.key: post.title for post in self._posts}, self._names)
        self._matcher = Matcher()
        self._sweep([], first, (), last)

    def change(self, person: str, able: Iterable[Able]) -> Coverage:
        """From now on the person is able to do this and nothing else; the new coverage.

        Only the days from the first on which an ability differs are gone through again, and not
        those after the last if everybody is where they were. CoverageError as in ``coverage``, and
        for an ability of somebody else; nothing is changed then.
        """
        able = list(able)
        for one in able:
            if one.person != person:
                raise CoverageError(f"able[{one.post}, {one.person}]", f"Give those of {person}.")
        differing = self._exchange(person, able)
        if differing:
            start = min(low for low, _ in differing)
            old = self.coverage.spans
            kept = [replace(s, last=min(s.last, start - DAY)) for s in old if s.first < start]
            self._matcher = self._as_it_was(kept[-1], start - DAY) if kept else Matcher()
            self._sweep(kept, start if kept else self._first, old, max(h for _, h in differing))
        return self.coverage

    def _exchange(self, person: str, able: list[Able]) -> set[Stretch]:
        """Note the abilities in place of those there were; the stretches that were not in both."""
        now = stays(self._posts, able, first=self._first, last=self._last)
        differing: set[Stretch] = set()
        for post, people in self._held.items():
            was, new = people.pop(person, []), now[post].get(person, [])
            if new:
                people[person] = new
            if was != new:
                self._changes.strike(post, person, was)
                self._changes.enter(post, person, new)
                differing |= set(was) ^ set(new)
        return differing

    def _as_it_was(self, span: Span, day: date) -> Matcher:
        """The matching at the end of a day before which nothing differs, from the span kept."""
        matcher = Matcher()
        for post in self._posts:
            if post.first <= day <= post.last:
                matcher.add_post(post.key, post.places)
                for person, stretches in self._held[post.key].items():
                    for low, high in stretches:
                        if low <= day <= high:
                            matcher.add(post.key, person, high.toordinal())
                for person in span.assigned[post.key]:
                    matcher.put(post.key, person)
        return matcher

    def _sweep(self, found: list[Span], start: date, old: tuple[Span, ...], until: date) -> None:
        """Add to the spans those from a day on; ``old`` holds those after ``until``, if the same.

        What comes after a day depends on the abilities of then, and on who is where: with both as
        they were, so is all the rest.
        """
        for first, last in self._changes.stretches(start):
            self._changes.make(first, self._matcher)
            span = self._span(first, last, found[-1] if found else None)
            same = next((one for one in old if one.first <= first <= one.last), None)
            if same and first > until and same.assigned == span.assigned:
                _append(found, replace(same, first=first))
                found += (one for one in old if one.first > same.last)
                break
            _append(found, span)
        spans = tuple(found)
        reason = first_break(self._posts, self._held, spans, self._names)
        self.coverage = Coverage(self._first, self._last, self._posts, spans, reason)

    def _span(self, first: date, last: date, before: Span | None) -> Span:
        matcher = self._matcher
        assigned: dict[str, tuple[str, ...]] = {}
        for post in sorted(matcher.places):
            known = before.assigned.get(post) if before and post not in matcher.touched else None
            assigned[post] = tuple(sorted(matcher.at[post])) if known is None else known
        matcher.touched.clear()
        places = sum(matcher.places.values())
        told = self._gaps.of(matcher) if matcher.filled < places else ()
        return Span(first, last, places, matcher.filled, told, assigned)


def _append(found: list[Span], span: Span) -> None:
    """Add a span, or lengthen the last one by its days when nothing differs but these."""
    if found and replace(found[-1], first=span.first, last=span.last) == span:
        span = replace(found.pop(), last=span.last)
    found.append(span)
