"""A shortest list of assessments that closes the gap, as far as those offered can.

An assignment of least cost: a place filled by who is able already costs nothing, one filled after
an assessment costs one step and its effort, an empty one costs more than all steps together.
SciPy solves it (D. Crouse 2016, "On implementing 2D rectangular assignment algorithms", as its
documentation says).
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

import numpy as np
from scipy.optimize import linear_sum_assignment

from certificates.coverage.closers import checked_candidates, matched
from certificates.coverage.matcher import Matcher
from certificates.coverage.model import Able, Candidate, Plan, Post
from certificates.coverage.wording import count

Offered = dict[tuple[str, str], Candidate]


def plan(
    posts: Iterable[Post], able: Iterable[Able], candidates: Iterable[Candidate], *, on: date
) -> Plan:
    """The fewest assessments that fill as many places as can be filled on a day.

    Among lists as short, one of least effort. One assessment may be of no use without another of
    the list: a mason moves up, and another takes the place left. CoverageError as in ``closers``.
    """
    matcher = matched(posts, able, on=on)
    offered: Offered = {}
    for one in sorted(checked_candidates(candidates), key=lambda one: (one.effort, one.missing)):
        if one.post in matcher.places and one.person not in matcher.able[one.post]:
            offered.setdefault((one.post, one.person), one)
    short = sum(matcher.places.values()) - matcher.filled
    part = _concerned(matcher, offered)
    steps = tuple(
        sorted(
            _chosen(part, {key: one for key, one in offered.items() if key[0] in part.places}),
            key=lambda one: (one.effort, one.person, one.post),
        )
    )
    for one in steps:
        part.add(one.post, one.person)
    gained = part.rematch()
    sentence = _sentence(short, gained, len(steps))
    return Plan(steps, gained, short - gained, sum(one.effort for one in steps), sentence)


def _concerned(matcher: Matcher, offered: Offered) -> Matcher:
    """The posts that moves or assessments can reach from an empty place; no other post matters."""
    wide = matcher.part(matcher.places)
    for post, person in offered:
        wide.add(post, person)
    return matcher.part(wide.reached())


def _chosen(part: Matcher, offered: Offered) -> list[Candidate]:
    """The assessments on which an assignment of least cost relies."""
    places = [post for post in sorted(part.places) for _ in range(part.places[post])]
    if not offered or not places:
        return []
    able = {person for people in part.able.values() for person in people}
    people = sorted(able.union(person for _, person in offered))
    # Effort counts least, then steps, then empty places: each above the sum of those before.
    step = 1 + len(places) * max(one.effort for one in offered.values())
    empty = step * (2 + len(places))
    columns = {person: number for number, person in enumerate(people)}
    # A column for each place stands for nobody.
    costs = np.full((len(places), len(people) + len(places)), float(empty))
    for row, post in enumerate(places):
        costs[row, [columns[person] for person in part.able[post]]] = 0
    rows: dict[str, list[int]] = {}
    for row, post in enumerate(places):
        rows.setdefault(post, []).append(row)
    for (post, person), one in offered.items():
        costs[rows[post], columns[person]] = step + one.effort
    found: list[Candidate] = []
    for row, column in zip(*linear_sum_assignment(costs), strict=True):
        key = (places[row], people[column] if column < len(people) else "")
        if 0 < costs[row, column] < empty:
            found.append(offered[key])
    return found


def _sentence(short: int, gained: int, steps: int) -> str:
    """What the list comes to.

    >>> _sentence(1, 1, 2), _sentence(3, 2, 2)
    ('Two assessments would fill the empty place.', 'Two assessments would fill two of the three \
empty places; no list of those offered fills more.')
    """
    if not short:
        return "Every post can be filled: no assessment is needed."
    work = f"{count(steps)} {'assessment' if steps == 1 else 'assessments'}".capitalize()
    empty = "the empty place" if short == 1 else f"the {count(short)} empty places"
    if gained == short:
        return f"{work} would fill {empty}."
    if not gained:
        return f"No assessment offered would fill {'' if short == 1 else 'any of '}{empty}."
    return f"{work} would fill {count(gained)} of {empty}; no list of those offered fills more."
