"""Which single assessment fills a place more: one mason able to fill one post more.

An ability raises the greatest matching by one when an augmenting path uses it, and by nothing
otherwise: the path comes from an empty place to the post, and leads on from the person to somebody
free (C. Berge 1957, "Two theorems in graph theory", from memory). Both halves are looked for once;
no candidate needs the matching to be made again.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from math import isfinite

from certificates.coverage.matcher import Matcher
from certificates.coverage.model import Able, Candidate, Closing, CoverageError, Names, Post
from certificates.coverage.stays import checked_posts, stays


def closers(
    posts: Iterable[Post],
    able: Iterable[Able],
    candidates: Iterable[Candidate],
    *,
    on: date,
    names: Names | None = None,
) -> list[Closing]:
    """The candidates that help on a day, those of least effort first, then by name and post.

    Who helps nothing is left out; so is a candidate for a post that is not open on the day.
    CoverageError as in ``coverage``, and for an effort that is none.
    """
    called = names or {}
    matcher = matched(posts, able, on=on)
    short = matcher.reached()
    # Whoever is placed nowhere is free without any move.
    free = {None, *leading_on(matcher)}
    found = [
        Closing(one.person, one.post, 1, one.missing, one.effort)
        for one in checked_candidates(candidates)
        if one.post in short and matcher.where.get(one.person) in free
    ]

    def order(one: Closing) -> tuple[float, str, str, str, str]:
        return one.effort, called.get(one.person, one.person), one.person, one.post, one.missing

    return sorted(found, key=order)


def matched(posts: Iterable[Post], able: Iterable[Able], *, on: date) -> Matcher:
    """A matching at its greatest for the posts that are open on a day."""
    rows = checked_posts(posts)
    held = stays(rows, able, first=on, last=on)
    matcher = Matcher()
    for post in rows:
        if post.first <= on <= post.last:
            matcher.add_post(post.key, post.places)
            for person in held[post.key]:
                matcher.add(post.key, person)
    matcher.rematch()
    return matcher


def checked_candidates(candidates: Iterable[Candidate]) -> list[Candidate]:
    """The candidates; CoverageError for an effort below nothing or that is no number."""
    rows = list(candidates)
    for one in rows:
        if not isfinite(one.effort) or one.effort < 0:
            path = f"candidates[{one.person}, {one.post}].effort"
            raise CoverageError(path, "An effort is a number from 0 up.")
    return rows


def leading_on(matcher: Matcher) -> set[str]:
    """The posts whose people can be spared: a chain of moves ends with somebody free.

    >>> one = Matcher()
    >>> for post in "AB":
    ...     one.add_post(post, 1)
    >>> for post, person in (("A", "Ana"), ("B", "Kim"), ("B", "Tom")):
    ...     one.add(post, person)
    >>> one.rematch(), leading_on(one)
    (2, {'B'})
    """
    able = matcher.able
    found = [p for p in matcher.places if any(one not in matcher.where for one in able[p])]
    left = set(matcher.places).difference(found)
    for post in found:
        beyond = [p for p in left if not able[p].keys().isdisjoint(matcher.at[post])]
        found += beyond
        left.difference_update(beyond)
    return set(found)
