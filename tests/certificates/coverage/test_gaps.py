"""Each gap is a Hall violator, minimal, and all of them add up to what is not filled.

P. Hall 1935, "On Representatives of Subsets": all places can be filled exactly when no set of
posts has more places than people who can fill any of them (from memory). O. Ore 1955: the places
that stay empty are the most by which a set exceeds its people (from memory).
"""

from __future__ import annotations

import random
from itertools import combinations

import pytest
from hypothesis import given, settings

from certificates.coverage import Gap, Matcher, coverage
from certificates.coverage.gaps import EXACT, Gaps
from tests.certificates.coverage.builders import LAST, START
from tests.certificates.coverage.crews import Case, Crew, cases, most_by_networkx, needed_and_able
from tests.faults.marks import examples


def check(crew: Crew, found: tuple[Gap, ...]) -> None:
    """What must hold of all gaps of a day, whichever were chosen."""
    told: set[str] = set()
    places_told = 0
    seen: set[str] = set()
    for gap in found:
        posts = frozenset(gap.posts)
        places, people = needed_and_able(crew, posts)
        assert gap.places == places
        assert set(gap.counted) == people & told
        assert set(gap.people) == people - told
        assert gap.unfilled == places - len(people - told) > 0
        for post in posts:
            rest = {p: (crew[p][0], crew[p][1] - told) for p in posts - {post}}
            assert most_by_networkx(rest) == places - crew[post][0], "holds a smaller gap"
        assert not posts & seen
        seen |= posts
        told |= people
        places_told += places
        # With those before it, each is a violator of the whole crew.
        assert places_told - len(told) == sum(g.unfilled for g in found[: found.index(gap) + 1])


@given(cases())
@settings(max_examples=examples(150), deadline=None)
def test_gaps_are_minimal_violators_and_add_up(case: Case) -> None:
    for span in coverage(case.posts, case.able, first=START, last=LAST).spans:
        crew = case.on((span.first - START).days)
        check(crew, span.gaps)
        assert sum(gap.unfilled for gap in span.gaps) == span.unfilled


@given(cases())
@settings(max_examples=examples(100), deadline=None)
def test_the_first_gap_is_the_smallest_there_is(case: Case) -> None:
    for span in coverage(case.posts, case.able, first=START, last=LAST).spans:
        crew = case.on((span.first - START).days)
        sizes = (
            size
            for size in range(1, len(crew) + 1)
            for some in combinations(sorted(crew), size)
            for places, people in [needed_and_able(crew, frozenset(some))]
            if places > len(people)
        )
        smallest = next(sizes, None)
        assert (len(span.gaps[0].posts) if span.gaps else None) == smallest


def matched(crew: Crew) -> Matcher:
    matcher = Matcher()
    for post, (places, people) in crew.items():
        matcher.add_post(post, places)
        for person in sorted(people):
            matcher.add(post, person)
    matcher.rematch()
    return matcher


@pytest.mark.parametrize("seed", range(12))
def test_beyond_the_exact_size_they_are_minimal_all_the_same(seed: int) -> None:
    # More posts hang together than are tried one by one, and none of them is short on its own.
    pick = random.Random(seed)
    people = [f"p{number:02}" for number in range(12)]
    crew = {
        f"post {number:02}": (1, frozenset(pick.sample(people, pick.choice((1, 2, 3)))))
        for number in range(EXACT + 4)
    }
    matcher = matched(crew)
    found = Gaps({post: post for post in crew}, {}).of(matcher)
    assert found
    check(crew, found)
    assert sum(gap.unfilled for gap in found) == len(crew) - matcher.filled


def test_a_ring_one_short_is_told_whole() -> None:
    # Each mason can fill two neighbouring posts; one mason of the ring is missing, so every set of
    # neighbours but the whole has enough.
    size = EXACT + 3
    crew = {
        f"{n:02}": (1, frozenset({f"p{n}", f"p{(n + 1) % size}"} - {f"p{size - 1}"}))
        for n in range(size)
    }
    (gap,) = Gaps({post: post for post in crew}, {}).of(matched(crew))
    assert gap.posts == tuple(sorted(crew))
    assert gap.sentence.startswith(
        "Posts 00, 01, 02, 03, 04 and 10 more need 15 masons; only 14 are"
    )


def test_two_short_beyond_the_exact_size_is_two_gaps() -> None:
    # Everybody can fill everything; any posts one more than there are people are a gap already.
    people = frozenset(f"p{number:02}" for number in range(EXACT + 1))
    crew = {f"{number:02}": (1, people) for number in range(EXACT + 3)}
    found = Gaps({post: post for post in crew}, {}).of(matched(crew))
    check(crew, found)
    assert [(len(gap.posts), len(gap.people), len(gap.counted)) for gap in found] == [
        (EXACT + 2, EXACT + 1, 0),
        (1, 0, EXACT + 1),
    ]


def test_two_half_filled_posts_beyond_the_exact_size_are_not_one_gap() -> None:
    # From either half-filled post the other is reached, yet without it there is a gap as well.
    people = [f"p{number:02}" for number in range(EXACT + 3)]
    crew = {f"{number:02}": (1, frozenset(people)) for number in range(EXACT + 1)}
    crew |= {key: (2, frozenset(people)) for key in "xy"}
    matcher = Matcher()
    for number, (post, (places, able)) in enumerate(crew.items()):
        matcher.add_post(post, places)
        for person in able:
            matcher.add(post, person)
        matcher.put(post, people[number])
    check(crew, Gaps({post: post for post in crew}, {}).of(matcher))
