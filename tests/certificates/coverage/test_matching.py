"""The number filled is the greatest, on each day; who is where is allowed, stays, is repeatable.

Compared with trying everything (small crews) and with networkx (larger ones).
"""

from __future__ import annotations

import os
import random
import subprocess
import sys
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from certificates.coverage import Coverage, Matcher, coverage
from tests.certificates.coverage.builders import DAYS, LAST, START, on
from tests.certificates.coverage.crews import Case, cases, most_by_networkx, most_by_trying
from tests.faults.marks import examples


def covered(case: Case) -> Coverage:
    return coverage(case.posts, case.able, first=START, last=LAST)


@given(cases())
@settings(max_examples=examples(150), deadline=None)
def test_each_day_is_filled_as_far_as_can_be(case: Case) -> None:
    spans = covered(case).spans
    assert (spans[0].first, spans[-1].last) == (START, LAST)
    assert all((after.first - before.last).days == 1 for before, after in pairwise(spans))
    for number in range(DAYS):
        crew = case.on(number)
        (span,) = (span for span in spans if span.first <= on(number) <= span.last)
        assert span.places == sum(places for places, _ in crew.values())
        assert span.filled == most_by_trying(crew)
        placed = [person for people in span.assigned.values() for person in people]
        assert len(placed) == len(set(placed)) == span.filled
        assert sorted(span.assigned) == sorted(crew)
        for key, people in span.assigned.items():
            assert len(people) <= crew[key][0]
            assert set(people) <= crew[key][1]


@given(cases())
@settings(max_examples=examples(60), deadline=None)
def test_the_first_break_is_the_first_day_that_is_not_filled(case: Case) -> None:
    short = [n for n in range(DAYS) if _short(case, n)]
    breaks = covered(case).breaks
    assert (breaks.day if breaks else None) == (on(short[0]) if short else None)
    if breaks and short[0] > 0:
        assert breaks.ended or breaks.begun


def _short(case: Case, number: int) -> bool:
    crew = case.on(number)
    return most_by_trying(crew) < sum(places for places, _ in crew.values())


@given(cases(), st.randoms(use_true_random=False))
@settings(max_examples=examples(60), deadline=None)
def test_the_order_of_the_input_changes_nothing(case: Case, pick: random.Random) -> None:
    posts, able = list(case.posts), list(case.able)
    pick.shuffle(posts)
    pick.shuffle(able)
    assert covered(Case(tuple(posts), tuple(able))) == covered(case)


@given(cases())
@settings(max_examples=examples(100), deadline=None)
def test_who_is_placed_stays_placed_while_able_and_the_post_is_open(case: Case) -> None:
    # An augmenting path may move a mason to another post, never out of work.
    for before, after in pairwise(covered(case).spans):
        crew = case.on((after.first - START).days)
        now = {person for people in after.assigned.values() for person in people}
        for key, people in before.assigned.items():
            still = crew.get(key, (0, frozenset()))[1]
            assert now.issuperset(person for person in people if person in still)


@given(cases())
@settings(max_examples=examples(60), deadline=None)
def test_nobody_moves_where_nothing_more_is_filled(case: Case) -> None:
    for before, after in pairwise(covered(case).spans):
        crew = case.on((after.first - START).days)
        kept = {
            (key, person)
            for key, people in before.assigned.items()
            for person in people
            if person in crew.get(key, (0, frozenset()))[1]
        }
        if after.filled == len(kept):
            assert kept == {(k, p) for k, people in after.assigned.items() for p in people}


@pytest.mark.parametrize("seed", range(8))
def test_larger_crews_are_filled_as_networkx_fills_them(seed: int) -> None:
    pick = random.Random(seed)
    matcher, crew = Matcher(), {}
    for number in range(40):
        post, places = f"post {number:02}", pick.randint(1, 5)
        able = {f"p{pick.randrange(150)}" for _ in range(pick.choice((1, 3, 6, 12)))}
        crew[post] = (places, frozenset(able))
        matcher.add_post(post, places)
        for person in able:
            matcher.add(post, person, pick.randrange(9))
    matcher.rematch()
    assert matcher.filled == most_by_networkx(crew)
    # Then one change after the other.
    for _ in range(60):
        post = pick.choice(sorted(crew))
        places, people = crew[post]
        person = f"p{pick.randrange(150)}"
        if person in people:
            matcher.remove(post, person)
        else:
            matcher.add(post, person)
        crew[post] = (places, people ^ {person})
        matcher.rematch()
        assert matcher.filled == most_by_networkx(crew)


def test_the_same_in_every_process() -> None:
    # Sets of text are gone through in another order in each process; nothing may come of it.
    program = (
        "from tests.bench.crew_data import START, crew_data\n"
        "from certificates.coverage import coverage\n"
        "data = crew_data(60, posts=24, days=60, share=0.2)\n"
        "print(coverage(data.posts, data.able(), first=START, last=data.last))\n"
    )
    printed = {
        subprocess.run(
            [sys.executable, "-c", program],
            env={**os.environ, "PYTHONHASHSEED": seed},
            check=True,
            capture_output=True,
            text=True,
        ).stdout
        for seed in ("1", "2", "3")
    }
    assert len(printed) == 1
