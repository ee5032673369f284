"""The most places that can be filled at once, kept as abilities come and go.

A maximum matching of a bipartite graph: a mason fills one place at a time, a post has one or more.
It is at its greatest when no augmenting path is left (C. Berge 1957, "Two theorems in graph
theory", from memory), so after a change only such paths are looked for and all else stays.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from heapq import nsmallest


class Matcher:
    """Posts with places, people with abilities, and who is placed where.

    ``able`` says for each post who can fill it and up to which day (any whole number that grows;
    of several who are free, whoever can stay longest is placed, then by key). ``at`` says who is
    placed at a post, ``where`` at which post a person is. After changes ``rematch`` fills what
    can be filled. What comes out depends on the order of the changes only in who is placed, never
    in how many.

    >>> one = Matcher()
    >>> for post in "AB":
    ...     one.add_post(post, 1)
    >>> for post, person in (("A", "Ana"), ("A", "Tom"), ("B", "Ana")):
    ...     one.add(post, person)
    >>> one.rematch(), one.at
    (2, {'A': {'Tom'}, 'B': {'Ana'}})
    """

    def __init__(self) -> None:
        self.places: dict[str, int] = {}
        self.able: dict[str, dict[str, int]] = {}
        self.at: dict[str, set[str]] = {}
        self.where: dict[str, str] = {}
        self.touched: set[str] = set()
        """Posts at which somebody came or went; for the caller to read and to empty."""

    @property
    def filled(self) -> int:
        """How many places are filled."""
        return len(self.where)

    def short(self) -> list[str]:
        """The posts with a place not filled, in the order of their keys."""
        return sorted(post for post, places in self.places.items() if len(self.at[post]) < places)

    def add_post(self, post: str, places: int) -> None:
        """Open a post that nobody can fill yet."""
        self.places[post] = places
        self.able[post] = {}
        self.at[post] = set()

    def remove_post(self, post: str) -> None:
        """Close a post; whoever was there is free."""
        for person in self.at.pop(post):
            del self.where[person]
        del self.places[post], self.able[post]

    def add(self, post: str, person: str, until: int = 0) -> None:
        """Let ``person`` be able to fill ``post``; a second time only changes ``until``."""
        self.able[post][person] = until

    def remove(self, post: str, person: str) -> None:
        """Take an ability away; a person who was placed by it is free."""
        del self.able[post][person]
        if self.where.get(person) == post:
            self._lift(person)

    def put(self, post: str, person: str) -> None:
        """Place a free person who is able where there is a place."""
        self.at[post].add(person)
        self.where[person] = post
        self.touched.add(post)

    def rematch(self) -> int:
        """Fill what can be filled, moving as few people as it takes; how many places that is."""
        before = self.filled
        for post in self.short():
            places = self.places[post] - len(self.at[post])
            for person in _longest(self.able[post], self._free(post), places):
                self.put(post, person)
        while path := self._augmenting():
            self._shift(path)
        return self.filled - before

    def reached(self, sources: Iterable[str] | None = None) -> dict[str, str | None]:
        """The posts to which an alternating path leads from those not filled (or from some).

        From a post the path goes to whoever can fill it, and on to the post where that person is
        placed. Each post comes with the one before it, in the order of the search.
        """
        found: dict[str, str | None] = dict.fromkeys(
            self.short() if sources is None else sorted(sources)
        )
        for _ in self._spread(found):
            pass
        return found

    def part(self, posts: Iterable[str]) -> Matcher:
        """A copy of some posts, with the people who can fill them and are placed at them."""
        copy = Matcher()
        for post in posts:
            copy.places[post] = self.places[post]
            copy.able[post] = dict(self.able[post])
            copy.at[post] = set(self.at[post])
            copy.where.update(dict.fromkeys(self.at[post], post))
        return copy

    def _lift(self, person: str) -> None:
        post = self.where.pop(person)
        self.at[post].discard(person)
        self.touched.add(post)

    def _free(self, post: str) -> Iterator[str]:
        """Who can fill the post and is placed nowhere."""
        return (person for person in self.able[post] if person not in self.where)

    def _augmenting(self) -> list[str]:
        """The posts of a shortest augmenting path, the one with somebody free first; or none."""
        found: dict[str, str | None] = dict.fromkeys(self.short())
        for post in self._spread(found):
            if any(True for _ in self._free(post)):
                path: list[str] = []
                step: str | None = post
                while step is not None:
                    path.append(step)
                    step = found[step]
                return path
        return []

    def _spread(self, found: dict[str, str | None]) -> Iterator[str]:
        """Give the posts of ``found`` one after the other, adding to it what each leads to."""
        waiting = list(found)
        left = {post for post in self.places if post not in found and self.at[post]}
        for post in waiting:
            yield post
            able = self.able[post]
            # Whichever is shorter to go through: the people, or the posts not reached yet.
            if len(able) < len(left):
                beyond = {self.where[one] for one in able if one in self.where} & left
            else:
                beyond = {one for one in left if not able.keys().isdisjoint(self.at[one])}
            found.update(dict.fromkeys(sorted(beyond), post))
            waiting += sorted(beyond)
            left -= beyond

    def _shift(self, path: list[str]) -> None:
        """Move one person from each post of the path to the next, and place somebody free."""
        post = path[0]
        (free,) = _longest(self.able[post], self._free(post))
        for after in path[1:]:
            (moved,) = _longest(self.able[after], self.at[post] & self.able[after].keys())
            self._lift(moved)
            self.put(post, free)
            post, free = after, moved
        self.put(post, free)


def _longest(until: Mapping[str, int], people: Iterable[str], number: int = 1) -> list[str]:
    """So many of the people, or all if they are fewer: who can stay longest, then by key."""
    return nsmallest(number, people, key=lambda person: (-until[person], person))
