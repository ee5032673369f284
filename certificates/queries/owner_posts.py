"""How far each post of a submittal is filled, then and now."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from certificates.models import Post
from certificates.queries.owner_named import Facts, Named, Said, day_of, named

REMOVED = Said("none", "bar", "No longer on the project")
OVER = Said("none", "bar", "Over")
FILLED = Said("good", "check", "Filled")
LOOK = Said("doubt", "half", "Filled, look closer")


@dataclass(frozen=True)
class PostNow:
    """One post as it was submitted (``entry``) and as it is now (None: taken off the project).

    ``day`` is the one that ``then`` and ``now`` are about: the day looked at, or the first of the
    post where it begins later. ``lost`` is how many places less are filled now.
    """

    entry: Mapping[str, Any]
    post: Post | None
    day: date
    people: Sequence[Named]
    then: Said
    now: Said
    lost: int

    @property
    def code(self) -> str:
        """The post's code, which is its name within the project."""
        code: str = self.entry["code"]
        return code

    @property
    def starts_on(self) -> date:
        """The first day, as it is now."""
        return self.post.starts_on if self.post else day_of(self.entry["starts_on"])

    @property
    def ends_on(self) -> date:
        """The last day, as it is now."""
        return self.post.ends_on if self.post else day_of(self.entry["ends_on"])


def posts_now(
    document: Mapping[str, Any], posts: Iterable[Post], facts: Facts, *, changed: Iterable[str]
) -> list[PostNow]:
    """Return the posts of a submittal; ``changed`` are the codes of those that are not the same.

    ``posts`` are those of the project now; nothing is asked of the database.
    """
    now = {post.code: post for post in posts}
    changed = set(changed)
    return [
        _post(entry, now.get(entry["code"]), facts, changed=entry["code"] in changed)
        for entry in document["posts"]
    ]


def _post(entry: Mapping[str, Any], post: Post | None, facts: Facts, *, changed: bool) -> PostNow:
    people = [named(row, post, facts) for row in entry["covered_by"]]
    day = max(facts.on, post.starts_on if post else day_of(entry["starts_on"]))
    missing_then = _missing(people, day, entry["places"], entry["leads"], then=True)
    then = _short(missing_then) if missing_then else FILLED
    if post is None:
        return PostNow(entry, post, day, people, then, REMOVED, 0)
    if post.ends_on < facts.on:
        return PostNow(entry, post, day, people, then, OVER, 0)
    missing = _missing(people, day, post.places, post.leads, then=False)
    lost = max(0, missing - missing_then)
    if lost:
        now = _short(missing, tone="bad", shape="cross")
    elif missing:
        now = _short(missing)
    else:
        doubtful = changed or any(each.now.tone != "good" for each in people)
        now = LOOK if doubtful else FILLED
    return PostNow(entry, post, day, people, then, now, lost)


def _missing(people: Sequence[Named], day: date, places: int, leads: int, *, then: bool) -> int:
    """Return how many places nobody named fills on ``day``; of several records all must count."""
    filled: dict[tuple[bool, object], bool] = defaultdict(lambda: True)
    for each in people:
        if any(first <= day <= last for first, last in each.spans):
            key = (each.leads, each.person or each.holder)
            filled[key] &= each.counted if then else each.counts
    masons = sum(counts for (leading, _), counts in filled.items() if not leading)
    leading = sum(counts for (leading, _), counts in filled.items() if leading)
    return max(0, places - masons) + max(0, leads - leading)


def _short(missing: int, *, tone: str = "doubt", shape: str = "gap") -> Said:
    return Said(tone, shape, f"{missing} {'place' if missing == 1 else 'places'} not filled")
