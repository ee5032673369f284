"""Generated crews, and the most places that can be filled, counted in other ways than ours."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

import networkx as nx  # type: ignore[import-untyped]
from hypothesis import strategies as st

from certificates.coverage import Able, Post
from tests.certificates.coverage.builders import DAYS, on

Crew = Mapping[str, tuple[int, frozenset[str]]]
"""For each post its places and who is able to fill it, on one day."""


@dataclass(frozen=True)
class Case:
    """What goes into ``coverage``."""

    posts: tuple[Post, ...]
    able: tuple[Able, ...]

    def on(self, number: int) -> dict[str, tuple[int, frozenset[str]]]:
        """The crew of a day, read off the input day by day."""
        day = on(number)
        return {
            post.key: (
                post.places,
                frozenset(
                    one.person
                    for one in self.able
                    if one.post == post.key and one.first <= day and (one.last or day) >= day
                ),
            )
            for post in self.posts
            if post.first <= day <= post.last
        }


@st.composite
def cases(draw: st.DrawFn, most_posts: int = 5, most_people: int = 5) -> Case:
    """Posts and abilities within a few days; some lie partly outside them or overlap."""
    keys = "ABCDEFGH"[: draw(st.integers(1, most_posts))]
    day = st.integers(0, DAYS - 1)
    posts = []
    for key in keys:
        first, last = sorted((draw(day), draw(day)))
        posts.append(Post(key, key, draw(st.integers(1, 3)), on(first), on(last)))
    able = []
    people = [f"p{number}" for number in range(draw(st.integers(0, most_people)))]
    if people:
        for _ in range(draw(st.integers(0, 14))):
            first, last = sorted((draw(st.integers(-2, 11)), draw(st.integers(-2, 11))))
            end = draw(st.sampled_from([on(last), None]))
            key, person = draw(st.sampled_from(keys)), draw(st.sampled_from(people))
            able.append(Able(key, person, on(first), end))
    return Case(tuple(posts), tuple(able))


def most_by_trying(crew: Crew) -> int:
    """The most places that can be filled, each person tried at each post and at none."""
    posts = sorted(crew)
    people = sorted({person for _, able in crew.values() for person in able})

    @cache
    def most(number: int, left: tuple[int, ...]) -> int:
        if number == len(people):
            return 0
        best = most(number + 1, left)
        for at, post in enumerate(posts):
            if left[at] and people[number] in crew[post][1]:
                taken = (*left[:at], left[at] - 1, *left[at + 1 :])
                best = max(best, 1 + most(number + 1, taken))
        return best

    return most(0, tuple(crew[post][0] for post in posts))


def most_by_networkx(crew: Crew) -> int:
    """The most places that can be filled, by the Hopcroft and Karp of networkx."""
    graph = nx.Graph()
    places = [(post, place) for post in sorted(crew) for place in range(crew[post][0])]
    graph.add_nodes_from(places)
    graph.add_edges_from((place, person) for place in places for person in crew[place[0]][1])
    return len(nx.bipartite.hopcroft_karp_matching(graph, places)) // 2


def needed_and_able(crew: Crew, posts: frozenset[str]) -> tuple[int, frozenset[str]]:
    """The places of some posts, and everybody who can fill any of them."""
    people = frozenset[str]().union(*(crew[post][1] for post in posts))
    return sum(crew[post][0] for post in posts), people
