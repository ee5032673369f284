"""How long it takes to say whether a crew fills all posts: ``python -m tests.bench.bench_crew``.

Made-up masons hold some of 20 qualifications each, for stretches that end on any day; 200 posts ask
for one or two; 365 days. ``coverage`` is all of it: the days, who is placed, the gaps, the break.
The bare baseline of the same run is SciPy's maximum bipartite matching (Hopcroft and Karp), made
from scratch once for each day on which an ability or a post begins or ends, from arrays laid out
beforehand: ``laying`` is what that takes, and is not counted in the ratio. It says how many
places are filled and nothing else; the program stops when it counts otherwise. ``change`` is the
mean over masons of what takes the coverage to the one after a mason's abilities end early,
``closers`` and ``plan`` are for 1,000 assessments offered on the day with most empty places.
Processor time is measured, and the best of several rounds shown.
"""

from __future__ import annotations

import random
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, TypeVar

import numpy as np
from scipy.sparse import csr_array
from scipy.sparse.csgraph import maximum_bipartite_matching

from certificates.coverage import Able, Outlook, closers, coverage, plan
from tests.bench.crew_data import START, CrewData, candidates, crew_data

T = TypeVar("T")
ROUNDS, CHANGES, OFFERED = 3, 20, 1000


@dataclass(frozen=True)
class Arrays:
    """A row for each place and person who can fill it at some time; days from 0, both included."""

    place: Any
    person: Any
    first: Any
    last: Any
    places: int
    people: int
    days: Sequence[int]
    """The days from which anything changes."""


def laid_out(data: CrewData, able: Sequence[Able]) -> Arrays:
    """The arrays that the bare matching works on."""
    people = {person: n for n, person in enumerate(sorted({one.person for one in able}))}
    begins: dict[str, int] = {}
    places = 0
    for post in data.posts:
        begins[post.key] = places
        places += post.places
    posts = {post.key: post for post in data.posts}
    rows = []
    changes = {0}
    for one in able:
        post = posts[one.post]
        first = (max(one.first, post.first) - START).days
        last = (min(one.last or post.last, post.last) - START).days
        if first <= last and last >= 0 and first < data.days:
            changes |= {max(first, 0), last + 1}
            begin = begins[one.post]
            of_post = range(begin, begin + post.places)
            rows += [(place, people[one.person], first, last) for place in of_post]
    place, person, first_days, last_days = np.array(sorted(rows)).T
    days = sorted(day for day in changes if day < data.days)
    return Arrays(place, person, first_days, last_days, places, len(people), days)


def bare(arrays: Arrays) -> list[int]:
    """The most places filled on each day of a change."""
    found = []
    for day in arrays.days:
        holds = (arrays.first <= day) & (day <= arrays.last)
        person = arrays.person[holds]
        starts = np.searchsorted(arrays.place[holds], np.arange(arrays.places + 1))
        ones = np.ones(len(person), dtype=np.int8)
        graph = csr_array((ones, person, starts), shape=(arrays.places, arrays.people))
        found.append(int((maximum_bipartite_matching(graph, perm_type="column") >= 0).sum()))
    return found


def best(run: Callable[[], T], rounds: int = ROUNDS) -> tuple[float, T]:
    """The seconds of the quickest round, and what the last one gave."""
    times = []
    for _ in range(rounds):
        start = time.process_time()
        result = run()
        times.append(time.process_time() - start)
    return min(times), result


def changing(kept: Outlook, able: Sequence[Able], data: CrewData) -> float:
    """The mean seconds until the coverage is known after one mason's abilities end early."""
    of: dict[str, list[Able]] = {}
    for one in able:
        of.setdefault(one.person, []).append(one)
    pick = random.Random(3)
    cut = date.fromordinal(START.toordinal() + data.days // 3)
    start = time.process_time()
    for person in pick.sample(sorted(of), CHANGES):
        ending = [one for one in of[person] if one.first <= cut]
        kept.change(person, [replace(one, last=min(one.last or cut, cut)) for one in ending])
    return (time.process_time() - start) / CHANGES


def row(masons: int, share: float) -> str:
    """A line of the table."""
    data = crew_data(masons, share=share)
    able = data.able()
    rounds = ROUNDS if masons <= 5000 else 1
    ours, found = best(lambda: coverage(data.posts, able, first=START, last=data.last), rounds)
    laying, arrays = best(lambda: laid_out(data, able), 1)
    theirs, filled = best(lambda: bare(arrays), rounds)
    spans = iter(found.spans)
    span = next(spans)
    for day, number in zip(arrays.days, filled, strict=True):
        while (span.last - START).days < day:
            span = next(spans)
        assert span.filled == number, f"day {day}: {span.filled} is not {number}"
    worst = max(found.spans, key=lambda span: span.unfilled)
    kept = Outlook(data.posts, able, first=START, last=data.last)
    changed = changing(kept, able, data)
    offered = candidates(data, OFFERED)
    closing, _ = best(lambda: closers(data.posts, able, offered, on=worst.first), 1)
    planning, _ = best(lambda: plan(data.posts, able, offered, on=worst.first), 1)
    return (
        f"{masons:>7} {share:>5.2f} {len(able):>9,} {len(arrays.days):>5} {worst.unfilled:>5} "
        f"{ours:>10.3f} {theirs:>8.3f} {ours / theirs:>6.2f} {laying:>8.3f} {changed:>8.3f} "
        f"{closing:>8.3f} {planning:>7.3f}"
    )


def main() -> None:
    """Print the table."""
    print(f"{'masons':>7} {'share':>5} {'abilities':>9} {'days':>5} {'short':>5}", end=" ")
    print(f"{'coverage s':>10} {'bare s':>8} {'ratio':>6} {'laying s':>8} {'change s':>8}", end=" ")
    print(f"{'closers':>8} {'plan s':>7}")
    for masons, share in ((500, 0.1), (5000, 0.02), (5000, 0.1), (5000, 0.3), (50000, 0.1)):
        print(row(masons, share), flush=True)


if __name__ == "__main__":
    main()
