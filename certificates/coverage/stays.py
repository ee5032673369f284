"""The abilities as they came in, checked and made into stretches that neither meet nor overlap."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta

from certificates.coverage.model import Able, CoverageError, Post

Stretch = tuple[date, date]
Stays = dict[str, dict[str, list[Stretch]]]
"""For each post and person the stretches in order, within the post's days; both ends included."""
DAY = timedelta(days=1)


def checked_window(first: date, last: date) -> None:
    """CoverageError when the days are in the wrong order, or there is none after the last."""
    if last < first:
        raise CoverageError("last", f"The last day is before the first, {first.isoformat()}.")
    if last == date.max:
        raise CoverageError("last", "Give a last day before the end of the calendar.")


def checked_posts(posts: Iterable[Post]) -> tuple[Post, ...]:
    """The posts in the order of first days and keys; CoverageError for one that cannot be."""
    rows = tuple(sorted(posts, key=lambda post: (post.first, post.key)))
    keys: set[str] = set()
    for post in rows:
        path = f"posts[{post.key}]"
        if post.key in keys:
            raise CoverageError(path, "Two posts have this key: give each post its own.")
        if post.places < 1:
            raise CoverageError(f"{path}.places", "A post has at least one place.")
        if post.last < post.first:
            raise CoverageError(f"{path}.last", "The post ends before it begins.")
        keys.add(post.key)
    return rows


def stays(posts: Iterable[Post], able: Iterable[Able], *, first: date, last: date) -> Stays:
    """Who can fill which post when, between two days.

    CoverageError for an ability without a post, or one that ends before it begins.
    """
    ends = {post.key: (max(post.first, first), min(post.last, last)) for post in posts}
    found: Stays = {key: {} for key in ends}
    for one in able:
        if one.post not in ends:
            raise CoverageError(f"able[{one.post}]", "There is no post of this key.")
        if one.last is not None and one.last < one.first:
            path = f"able[{one.post}, {one.person}].last"
            raise CoverageError(path, "The ability ends before it begins.")
        begins, closes = ends[one.post]
        low = max(one.first, begins)
        high = closes if one.last is None else min(one.last, closes)
        if low <= high:
            found[one.post].setdefault(one.person, []).append((low, high))
    for people in found.values():
        for stretches in people.values():
            if len(stretches) > 1:
                stretches[:] = joined(stretches)
    return found


def joined(stretches: Iterable[Stretch]) -> list[Stretch]:
    """The stretches in order, those that overlap or follow on each other made one.

    >>> one, two, three, four = (date(2026, 5, day) for day in (1, 2, 3, 4))
    >>> joined([(three, four), (one, two)]) == [(one, four)]
    True
    """
    found: list[Stretch] = []
    for low, high in sorted(stretches):
        if found and low <= found[-1][1] + DAY:
            found[-1] = (found[-1][0], max(found[-1][1], high))
        else:
            found.append((low, high))
    return found
