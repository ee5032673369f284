"""A made-up crew and its posts, from a seed: plain data, no database.

Each mason has some of the qualifications, each for a stretch that ends on any day; each post asks
for one or two of them and lasts from some weeks to the whole time.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from certificates.coverage import Able, Candidate, Post

START = date(2027, 1, 4)


@dataclass(frozen=True)
class Held:
    """A qualification of a mason, from its first day to its last."""

    person: str
    qualification: int
    first: date
    last: date


@dataclass(frozen=True)
class CrewData:
    """Posts with the qualifications that each asks for, and what the masons hold."""

    posts: tuple[Post, ...]
    asks: dict[str, tuple[int, ...]]
    held: tuple[Held, ...]
    days: int

    @property
    def last(self) -> date:
        """The last day of the window; the first is START."""
        return START + timedelta(days=self.days - 1)

    def able(self) -> list[Able]:
        """Who can fill which post when: whoever holds all that the post asks for."""
        return list(_able(self))


def crew_data(
    masons: int,
    *,
    qualifications: int = 20,
    posts: int = 200,
    days: int = 365,
    share: float = 0.1,
    seed: int = 20270104,
) -> CrewData:
    """``share`` of the qualifications is held by each mason on the mean; rare ones by few."""
    pick = random.Random(seed)
    # From 1.9 times the share down to a tenth of it, so that some posts are hard to fill.
    shares = [share * (1.9 - 1.8 * n / max(qualifications - 1, 1)) for n in range(qualifications)]
    held = []
    for number in range(masons):
        for qualification in range(qualifications):
            if pick.random() < shares[qualification]:
                since = START + timedelta(days=pick.randint(-600, days // 2))
                until = since + timedelta(days=pick.randint(365, 1100))
                held.append(Held(f"mason {number:06}", qualification, since, until))
    rows, asks = [], {}
    for number in range(posts):
        key = f"post {number:05}"
        first, length = pick.randint(0, days // 2), pick.randint(14, days)
        last = min(first + length, days - 1)
        places = max(1, round(pick.uniform(0.2, 1.8) * masons / posts / 8))
        rows.append(Post(key, key, places, _day(first), _day(last)))
        asks[key] = tuple(sorted(pick.sample(range(qualifications), pick.choice((1, 1, 2)))))
    return CrewData(tuple(rows), asks, tuple(held), days)


def candidates(data: CrewData, number: int, *, seed: int = 1) -> list[Candidate]:
    """So many assessments of one mason for one post."""
    pick = random.Random(seed)
    people = sorted({one.person for one in data.held})
    return [
        Candidate(pick.choice(people), pick.choice(data.posts).key, pick.randint(1, 20), "a test")
        for _ in range(number)
    ]


def _day(number: int) -> date:
    return START + timedelta(days=number)


def _able(data: CrewData) -> Iterator[Able]:
    holders: dict[int, dict[str, Held]] = {}
    for one in data.held:
        holders.setdefault(one.qualification, {})[one.person] = one
    for post in data.posts:
        first_asked, *others = (holders.get(asked, {}) for asked in data.asks[post.key])
        for person, held in first_asked.items():
            stretches = [held, *(other[person] for other in others if person in other)]
            first = max(one.first for one in stretches)
            last = min(one.last for one in stretches)
            if len(stretches) == len(others) + 1 and first <= last:
                yield Able(post.key, person, first, last)
