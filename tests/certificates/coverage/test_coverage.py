"""Cases worked by hand; what holds for all cases is in the other files."""

from __future__ import annotations

from datetime import date

import pytest

from certificates.coverage import Able, CoverageError, Post, coverage
from tests.certificates.coverage.builders import LAST, START, able, on, post

NAMES = {"ana": "Ana Ruiz", "tom": "Tom Bell", "kim": "Kim Osei"}


def test_one_mason_fills_one_place_at_a_time() -> None:
    # Counted by post, each has somebody; at once they have not.
    posts = [post("A"), post("B"), post("C")]
    crew = [*able("ABC", "ana"), *able("A", "tom"), *able("A", "kim")]
    span = coverage(posts, crew, first=START, last=LAST, names=NAMES).spans[0]
    assert (span.places, span.filled) == (3, 2)
    assert [gap.sentence for gap in span.gaps] == [
        "Posts B and C need two masons; only one is qualified for either: Ana Ruiz."
    ]


def test_the_sentences_of_the_task() -> None:
    posts = [post("A", 2), post("B"), post("C", 2)]
    crew = [*able("BC", "ana"), *able("BC", "tom")]
    span = coverage(posts, crew, first=START, last=LAST, names=NAMES).spans[0]
    assert [gap.sentence for gap in span.gaps] == [
        "Post A needs two masons; nobody is qualified for it.",
        "Posts B and C need three masons; only two are qualified for either: "
        "Ana Ruiz and Tom Bell.",
    ]


def test_a_gap_told_after_another_names_who_is_counted() -> None:
    span = coverage([post("A"), post("B")], able("AB", "ana"), first=START, last=LAST).spans[0]
    assert [gap.posts for gap in span.gaps] == [("A", "B")]
    posts = [post("A", 2), post("B")]
    span = coverage(posts, able("AB", "ana"), first=START, last=LAST, names=NAMES).spans[0]
    assert [gap.sentence for gap in span.gaps] == [
        "Post A needs two masons; only one is qualified for it: Ana Ruiz.",
        "Post B needs one mason; besides Ana Ruiz, who is counted above, nobody is qualified "
        "for it.",
    ]
    assert [gap.counted for gap in span.gaps] == [(), ("ana",)]


def test_an_ability_holds_on_its_last_day_and_not_on_the_next() -> None:
    found = coverage([post("A")], able("A", "ana", last=4), first=START, last=LAST, names=NAMES)
    assert [(s.first, s.last, s.filled) for s in found.spans] == [
        (START, on(4), 1),
        (on(5), LAST, 0),
    ]
    assert found.breaks is not None
    assert (found.breaks.day, found.breaks.ended) == (on(5), tuple(able("A", "ana", last=4)))
    assert found.breaks.sentence == (
        "From 6 March 2027 not every post can be filled. "
        "The day before was the last for Ana Ruiz at post A."
    )


def test_an_ability_that_ends_with_the_window_breaks_nothing() -> None:
    found = coverage([post("A")], able("A", "ana", last=9), first=START, last=LAST)
    assert [(s.first, s.last, s.filled) for s in found.spans] == [(START, LAST, 1)]
    assert found.breaks is None


def test_a_post_of_one_day() -> None:
    found = coverage([post("A", first=3, last=3)], [], first=START, last=LAST)
    assert [(s.first, s.last, s.places, s.unfilled) for s in found.spans] == [
        (START, on(2), 0, 0),
        (on(3), on(3), 1, 1),
        (on(4), LAST, 0, 0),
    ]
    assert found.breaks is not None
    assert (found.breaks.day, found.breaks.begun, found.breaks.ended) == (on(3), ("A",), ())
    assert found.breaks.sentence.endswith("Post A begins on this day.")


def test_who_is_still_in_the_gap_is_not_missed() -> None:
    # Ana can no longer go to C either, but is in the gap by A and B: it comes from Tom alone.
    posts = [post("A"), post("B"), post("C")]
    crew = [*able("AB", "ana"), *able("C", "ana", last=4), *able("BC", "kim")]
    found = coverage(posts, [*crew, *able("C", "tom", last=4)], first=START, last=LAST)
    assert found.breaks is not None
    assert [gap.posts for gap in found.spans[-1].gaps] == [("A", "B", "C")]
    assert found.breaks.ended == tuple(able("C", "tom", last=4))


def test_spans_without_a_change_are_one() -> None:
    # The abilities meet, and a spare mason comes and goes.
    crew = [*able("A", "ana", 0, 4), *able("A", "ana", 5, 9), *able("A", "kim", 3, 6)]
    found = coverage([post("A")], crew, first=START, last=LAST)
    assert [(s.first, s.last) for s in found.spans] == [(START, LAST)]


def test_whoever_can_stay_stays() -> None:
    # Kim is first by key order on neither post; nobody moves when she comes.
    posts = [post("A"), post("B", first=4)]
    crew = [*able("AB", "tom"), *able("AB", "ana", 4), *able("A", "kim", 2)]
    spans = coverage(posts, crew, first=START, last=LAST).spans
    assert [dict(span.assigned) for span in spans] == [
        {"A": ("tom",)},
        {"A": ("tom",), "B": ("ana",)},
    ]


def test_whoever_can_stay_longest_is_placed() -> None:
    crew = [*able("A", "ana", last=5), *able("A", "tom", last=8), *able("A", "kim", last=2)]
    spans = coverage([post("A")], crew, first=START, last=on(8)).spans
    assert [span.assigned["A"] for span in spans] == [("tom",)]


def test_no_posts() -> None:
    found = coverage([], [], first=START, last=START)
    assert [(s.first, s.last, s.places, s.filled) for s in found.spans] == [(START, START, 0, 0)]
    assert found.breaks is None


@pytest.mark.parametrize(
    ("posts", "crew", "window", "path"),
    [
        ([post("A"), post("A")], [], (START, LAST), "posts[A]"),
        ([post("A", 0)], [], (START, LAST), "posts[A].places"),
        ([post("A", 1, 4, 3)], [], (START, LAST), "posts[A].last"),
        ([post("A")], able("B", "ana"), (START, LAST), "able[B]"),
        ([post("A")], able("A", "ana", 4, 3), (START, LAST), "able[A, ana].last"),
        ([post("A")], [], (LAST, START), "last"),
        ([post("A")], [], (START, date.max), "last"),
    ],
)
def test_input_that_cannot_be_used_is_refused_where_it_stands(
    posts: list[Post], crew: list[Able], window: tuple[date, date], path: str
) -> None:
    with pytest.raises(CoverageError) as refused:
        coverage(posts, crew, first=window[0], last=window[1])
    assert refused.value.path == path
