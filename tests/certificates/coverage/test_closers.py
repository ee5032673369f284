"""Which assessments help, and the shortest list that closes a gap: against trying all of them."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from certificates.coverage import Candidate, CoverageError, closers, plan
from tests.certificates.coverage.builders import START, able, post
from tests.certificates.coverage.crews import Case, Crew, cases, most_by_trying
from tests.faults.marks import examples

DAY = 0


@st.composite
def offers(draw: st.DrawFn) -> tuple[Case, list[Candidate]]:
    """A crew, and a few assessments of people in it or new to it."""
    case = draw(cases(most_posts=4, most_people=4))
    key = st.sampled_from([one.key for one in case.posts])
    person = st.sampled_from(["p0", "p1", "p2", "p3", "new", "other"])
    effort = st.sampled_from([0, 0.5, 1, 2, 5])
    found = draw(st.lists(st.builds(Candidate, person, key, effort, st.just("a test")), max_size=6))
    return case, found


def with_steps(crew: Crew, steps: Iterable[Candidate]) -> dict[str, tuple[int, frozenset[str]]]:
    """The crew after all these assessments."""
    found = dict(crew)
    for one in steps:
        if one.post in found:
            places, people = found[one.post]
            found[one.post] = (places, people | {one.person})
    return found


@given(offers())
@settings(max_examples=examples(150), deadline=None)
def test_who_helps_is_who_raises_the_matching_when_it_is_made_again(
    offer: tuple[Case, list[Candidate]],
) -> None:
    case, candidates = offer
    crew = case.on(DAY)
    before = most_by_trying(crew)
    helping = [one for one in candidates if most_by_trying(with_steps(crew, [one])) > before]
    found = closers(case.posts, case.able, candidates, on=START)
    assert sorted((one.person, one.post, one.effort) for one in found) == sorted(
        (one.person, one.post, one.effort) for one in helping
    )
    assert [one.effort for one in found] == sorted(one.effort for one in found)
    assert {one.filled_more for one in found} <= {1}


@given(offers())
@settings(max_examples=examples(150), deadline=None)
def test_a_plan_is_the_shortest_and_of_those_the_least_work(
    offer: tuple[Case, list[Candidate]],
) -> None:
    case, candidates = offer
    crew = case.on(DAY)
    lists = [
        (most_by_trying(with_steps(crew, some)), -len(some), -sum(one.effort for one in some))
        for size in range(len(candidates) + 1)
        for some in combinations(candidates, size)
    ]
    most, size, effort = max(lists)
    found = plan(case.posts, case.able, candidates, on=START)
    assert most_by_trying(with_steps(crew, found.steps)) == most
    assert (-len(found.steps), -found.effort) == (size, effort)
    assert found.filled_more == most - most_by_trying(crew)
    assert found.unfilled == sum(places for places, _ in crew.values()) - most
    assert found.closes == (found.unfilled == 0)


@given(offers())
@settings(max_examples=examples(50), deadline=None)
def test_the_order_of_what_is_offered_changes_nothing(offer: tuple[Case, list[Candidate]]) -> None:
    case, offered = offer
    posts, crew = case.posts, case.able
    assert closers(posts, crew, offered, on=START) == closers(
        posts[::-1], crew[::-1], offered[::-1], on=START
    )
    assert plan(posts, crew, offered, on=START) == plan(
        posts[::-1], crew[::-1], offered[::-1], on=START
    )


def test_a_plan_may_need_two_steps_where_none_helps_alone() -> None:
    # Tom moves up from B to A, and Kim takes his place: neither assessment helps by itself.
    posts = [post("A"), post("B")]
    crew = able("B", "tom")
    offered = [Candidate("tom", "A", 3, "the stage A2"), Candidate("kim", "B", 2, "a reading")]
    assert closers(posts, crew, offered, on=START) == []
    found = plan(posts, crew, offered, on=START)
    assert ([one.person for one in found.steps], found.effort) == (["kim", "tom"], 5)
    assert found.closes
    assert found.sentence == "Two assessments would fill the empty place."


def test_half_an_effort_counts() -> None:
    offered = [
        Candidate("p0", "A", 1, ""),
        Candidate("p1", "A", 0.5, ""),
        Candidate("p1", "B", 0, ""),
    ]
    found = plan([post("A", 2), post("B")], [], offered, on=START)
    assert ([(one.person, one.post) for one in found.steps], found.effort) == (
        [("p1", "B"), ("p0", "A")],
        1,
    )


def test_equal_effort_goes_by_name() -> None:
    offered = [
        Candidate("p2", "A", 1, ""),
        Candidate("p1", "A", 1, ""),
        Candidate("p3", "A", 0, ""),
    ]
    names = {"p1": "Zoe Amadi", "p2": "Ana Ruiz", "p3": "Tom Bell"}
    found = closers([post("A")], [], offered, on=START, names=names)
    assert [one.person for one in found] == ["p3", "p2", "p1"]


@pytest.mark.parametrize(
    ("crew", "offered", "sentence"),
    [
        ("AB", [], "Every post can be filled: no assessment is needed."),
        ("A", [("kim", "B")], "One assessment would fill the empty place."),
        (
            "",
            [("kim", "B")],
            "One assessment would fill one of the two empty places; "
            "no list of those offered fills more.",
        ),
        ("", [], "No assessment offered would fill any of the two empty places."),
        ("A", [], "No assessment offered would fill the empty place."),
    ],
)
def test_the_sentence_says_how_far_the_plan_goes(
    crew: str, offered: list[tuple[str, str]], sentence: str
) -> None:
    people = [one for number, key in enumerate(crew) for one in able(key, f"p{number}")]
    asked = [Candidate(person, key, 1, "") for person, key in offered]
    assert plan([post("A"), post("B")], people, asked, on=START).sentence == sentence


@pytest.mark.parametrize("effort", [-1, float("nan"), float("inf")])
def test_an_effort_is_a_number_from_nothing_up(effort: float) -> None:
    with pytest.raises(CoverageError, match=r"candidates\[kim, A\]\.effort"):
        closers([post("A")], [], [Candidate("kim", "A", effort, "")], on=START)
