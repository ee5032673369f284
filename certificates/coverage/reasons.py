"""Why the first day that is not covered is not: what ended the day before, what begins on it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import timedelta

from certificates.coverage.model import Able, Break, Names, Post, Span
from certificates.coverage.stays import Stays
from certificates.coverage.wording import day, listed, titled


def first_break(
    posts: Iterable[Post], held: Stays, spans: Sequence[Span], names: Names
) -> Break | None:
    """The first day with an empty place; None when there is none.

    On the day before all was filled, so for each gap of the day a post began, or somebody is
    missed who could fill one of its posts until then.
    """
    span = next((span for span in spans if span.unfilled), None)
    if span is None:
        return None
    titles = {post.key: post.title for post in posts}
    short = {post for gap in span.gaps for post in gap.posts}
    begun = tuple(post.key for post in posts if post.key in short and post.first == span.first)
    before = span.first - timedelta(days=1)
    ended = tuple(
        Able(post, person, low, high)
        for gap in span.gaps
        for post in gap.posts
        for person, stretches in sorted(held[post].items())
        if person not in gap.people and person not in gap.counted
        for low, high in stretches
        if high == before
    )
    return Break(span.first, ended, begun, _sentence(span, ended, begun, titles, names))


def _sentence(
    span: Span,
    ended: Sequence[Able],
    begun: Sequence[str],
    titles: dict[str, str],
    names: Names,
) -> str:
    says = [f"From {day(span.first)} not every post can be filled."]
    people = sorted({names.get(one.person, one.person) for one in ended})
    if people:
        posts = listed(sorted({titled(titles[one.post]) for one in ended}))
        noun = "post" if len({one.post for one in ended}) == 1 else "posts"
        says.append(f"The day before was the last for {listed(people)} at {noun} {posts}.")
    if begun:
        several = len(begun) > 1
        says.append(
            f"{'Posts' if several else 'Post'} {listed([titled(titles[post]) for post in begun])} "
            f"{'begin' if several else 'begins'} on this day."
        )
    return " ".join(says)
