"""How far each post of a submittal is filled, then and now."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from django.utils.translation import gettext_noop as N_
from django.utils.translation import ngettext

from certificates.models import Post
from certificates.queries.owner_named import Facts, Named, Said, day_of, named

REMOVED = Said("none", "bar", N_("No longer on the project"))
OVER = Said("none", "bar", N_("Over"))
FILLED = Said("good", "check", N_("Filled"))
LOOK = Said("doubt", "half", N_("Filled, look closer"))


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
    now, codes = {post.code: post for post in posts}, set(changed)
    rows = []
    for entry in document["posts"]:
        post = now.get(entry["code"])
        people = tuple(named(row, post, facts) for row in entry["covered_by"])
        begins = post.starts_on if post else day_of(entry["starts_on"])
        # A submittal says nothing of the days before it.
        day = max(facts.on, begins, day_of(document["day"]))
        rows.append(PostNow(entry, post, day, people, FILLED, FILLED, 0))
    taken = {row.day: _named_on(rows, row.day) for row in rows}
    return [_stated(row, facts, taken[row.day], changed=row.code in codes) for row in rows]


def _stated(row: PostNow, facts: Facts, taken: set[object], *, changed: bool) -> PostNow:
    """Return the row with both states; whoever stands in for another is added to ``taken``."""
    wanted = {True: row.entry["leads"], False: row.entry["places"]}
    missing_then = sum(max(0, wanted[leads] - _submitted(row, leads)) for leads in wanted)
    then = _short(missing_then) if missing_then else FILLED
    if row.post is None:
        return replace(row, then=then, now=REMOVED)
    if row.post.ends_on < facts.on:
        return replace(row, then=then, now=OVER)
    places = {True: row.post.leads, False: row.post.places}
    missing = sum(_missing_now(row, leads, places[leads], taken) for leads in places)
    lost = max(0, missing - missing_then)
    if lost:
        now = _short(missing, tone="bad", shape="cross")
    elif missing:
        now = _short(missing, as_told=True)
    else:
        doubtful = changed or any(each.now.tone != "good" for each in row.people)
        now = LOOK if doubtful else FILLED
    return replace(row, then=then, now=now, lost=lost)


def _submitted(row: PostNow, leads: bool) -> int:
    return sum(_all_of(row, leads, lambda each: each.on(row.day) and each.counted).values())


def _missing_now(row: PostNow, leads: bool, places: int, taken: set[object]) -> int:
    """Return how many places nobody named for the post fills on its day.

    Whoever was named for other days only, since a record was to lapse or to be confirmed, stands
    in where the record counts all the same and nobody needs the person elsewhere.
    """
    here = _all_of(row, leads, lambda each: each.on(row.day) and each.counts)
    others = _all_of(row, leads, lambda each: each.counts)
    filled = sum(here.values())
    for person, counts in others.items():
        if filled < places and counts and person not in taken:
            taken.add(person)
            filled += 1
    return max(0, places - filled)


def _all_of(row: PostNow, leads: bool, holds: Callable[[Named], bool]) -> dict[object, bool]:
    """Return each person named for the post, and whether it holds for all records of theirs."""
    found: dict[object, bool] = {}
    for each in row.people:
        if each.leads == leads:
            found[each.key] = found.get(each.key, True) and holds(each)
    return found


def _named_on(rows: Iterable[PostNow], day: date) -> set[object]:
    return {each.key for row in rows if row.post for each in row.people if each.on(day)}


def _short(missing: int, *, tone: str = "doubt", shape: str = "gap", as_told: bool = False) -> Said:
    if as_told:
        told = ngettext(
            "{count} place not filled, as submitted",
            "{count} places not filled, as submitted",
            missing,
        )
    else:
        told = ngettext("{count} place not filled", "{count} places not filled", missing)
    return Said(tone, shape, told.format(count=missing))
