"""Why places stay empty: sets of posts that need more masons than can fill any of them.

By P. Hall's theorem (1935, "On Representatives of Subsets", from memory) there is such a set
whenever a place stays empty, and the places that stay empty are the most by which any set needs
more than there are.

Finding the smallest such set in general is NP-hard: it is the girth of a transversal matroid
(from memory). So the smallest is found exactly, by trying all, where at most ``EXACT`` posts hang
together; beyond that it is the smallest of those found from ``STARTS`` posts, and each of these is
minimal: without any one of its posts, the others could all be filled.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator, Mapping
from itertools import combinations

from certificates.coverage.matcher import Matcher
from certificates.coverage.model import Gap, Names
from certificates.coverage.wording import gap_sentence

EXACT = 12
STARTS = 12
MOST_KNOWN = 10_000
Key = tuple[tuple[str, int, frozenset[str]], ...]
Found = tuple[frozenset[str], frozenset[str], frozenset[str]]
"""The posts of a gap, who can fill any of them, and who could but is counted before."""


class Gaps:
    """The gaps of one matching after another; posts that hang together as before are not redone.

    ``titles`` has each post's title, ``names`` the people's names.
    """

    def __init__(self, titles: Mapping[str, str], names: Names) -> None:
        self._titles, self._names = titles, names
        self._known: dict[Key, tuple[Gap, ...]] = {}

    def of(self, matcher: Matcher) -> tuple[Gap, ...]:
        """The gaps of a matching at its greatest, in the order to tell them: the smallest first.

        Posts are in one gap at most, and so are people. A gap is told for what is left when
        those before it are set aside, so the unfilled places of all add up to the matching's.
        """
        part = short_part(matcher)
        waiting = [deque(self._together(part, posts)) for posts in _together(part)]
        found = []
        while waiting:
            # What hangs together is told in its order; gaps apart say nothing of each other.
            first = min(waiting, key=lambda gaps: _order(gaps[0].posts, bool(gaps[0].counted)))
            found.append(first.popleft())
            waiting = [gaps for gaps in waiting if gaps]
        return tuple(found)

    def _together(self, part: Matcher, posts: list[str]) -> tuple[Gap, ...]:
        key = tuple((post, part.places[post], frozenset(part.able[post])) for post in posts)
        if key not in self._known:
            if len(self._known) >= MOST_KNOWN:
                self._known.clear()
            found = _one_after_another(part.part(posts))
            self._known[key] = tuple(self._told(part, *one) for one in found)
        return self._known[key]

    def _told(
        self, part: Matcher, posts: frozenset[str], people: frozenset[str], counted: frozenset[str]
    ) -> Gap:
        places = sum(part.places[post] for post in posts)
        titles = [self._titles[post] for post in sorted(posts)]
        sentence = gap_sentence(titles, places, self._called(people), self._called(counted))
        in_order = [tuple(sorted(keys)) for keys in (posts, people, counted)]
        return Gap(in_order[0], places, in_order[1], in_order[2], sentence)

    def _called(self, people: Iterable[str]) -> list[str]:
        return sorted(self._names.get(person, person) for person in people)


def short_part(matcher: Matcher) -> Matcher:
    """The posts that an alternating path reaches from an empty place; every gap is among them."""
    return matcher.part(matcher.reached())


def _order(posts: Iterable[str], counted: bool) -> tuple[bool, int, list[str]]:
    """A gap that stands alone before one with people counted before, then by size and keys."""
    keys = sorted(posts)
    return counted, len(keys), keys


def _one_after_another(part: Matcher) -> Iterator[Found]:
    told: set[str] = set()
    counted: dict[str, set[str]] = {post: set() for post in part.places}
    while part.places:
        posts = _smallest(part, counted)
        people = frozenset[str]().union(*(part.able[post] for post in posts))
        before = frozenset[str]().union(*(counted[post] for post in posts))
        yield posts, people, before
        told |= people
        rest = part.part(post for post in part.places if post not in posts)
        for post, able in rest.able.items():
            for person in [person for person in able if person in told]:
                counted[post].add(person)
                rest.remove(post, person)
        rest.rematch()
        part = short_part(rest)


def _smallest(part: Matcher, counted: Mapping[str, set[str]]) -> frozenset[str]:
    """The smallest gap found, of two as small the first by key; before it, one that stands alone.

    It stands alone when nobody who could fill its posts is counted in a gap told before.
    """
    alone = [post for post in sorted(part.places) if len(part.able[post]) < part.places[post]]
    if alone:
        return frozenset([min(alone, key=lambda post: (bool(counted[post]), post))])
    found = []
    for posts in _together(part):
        if len(posts) <= EXACT:
            found += _tried(part, posts, counted)
        else:
            short = [post for post in part.short() if post in posts]
            found += [_minimal(part, post) for post in short[:STARTS]]
    return min(found, key=lambda posts: (any(counted[p] for p in posts), len(posts), sorted(posts)))


def _together(part: Matcher) -> Iterator[list[str]]:
    """The posts in groups that share nobody, each group in the order of its keys."""
    left = sorted(part.places)
    while left:
        group = [left.pop(0)]
        for post in group:
            near = [one for one in left if not part.able[post].keys().isdisjoint(part.able[one])]
            group += near
            left = [one for one in left if one not in near]
        yield sorted(group)


def _tried(
    part: Matcher, posts: list[str], counted: Mapping[str, set[str]]
) -> list[frozenset[str]]:
    """The smallest gap within the posts, and the smallest that stands alone; none if neither is."""
    bits: dict[str, int] = {}
    for post in posts:
        for person in part.able[post]:
            bits.setdefault(person, 1 << len(bits))
    masks = {post: sum(bits[person] for person in part.able[post]) for post in posts}
    any_kind: list[frozenset[str]] = []
    for size in range(1, len(posts) + 1):
        for some in combinations(posts, size):
            people = 0
            for post in some:
                people |= masks[post]
            if people.bit_count() < sum(part.places[post] for post in some):
                found = frozenset(some)
                if not any(counted[post] for post in some):
                    return [found]
                any_kind = any_kind or [found]
    return any_kind


def _minimal(part: Matcher, start: str) -> frozenset[str]:
    """A gap that holds no smaller one, within what is reached from a post that is short.

    Posts that many can fill are left out first. Where the others can then all be filled, no gap
    is without that post, and it stays; where not, the search goes on in what is still short.
    """
    part = part.part(part.reached([start]))
    for post in sorted(part.places, key=lambda post: (-len(part.able[post]), post)):
        if post not in part.places:
            continue
        rest = part.part(one for one in part.places if one != post)
        rest.rematch()
        if short := rest.short():
            part = rest.part(rest.reached(short[:1]))
    return frozenset(part.places)
