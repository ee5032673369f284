"""Small crews: days of one month, posts and abilities in a line each."""

from __future__ import annotations

from datetime import date, timedelta

from certificates.coverage import Able, Post

START = date(2027, 3, 1)
DAYS = 10


def on(number: int) -> date:
    """The day of this number, the first is 0."""
    return START + timedelta(days=number)


LAST = on(DAYS - 1)


def post(key: str, places: int = 1, first: int = 0, last: int = DAYS - 1) -> Post:
    """A post whose title is its key."""
    return Post(key, key, places, on(first), on(last))


def able(posts: str, person: str, first: int = 0, last: int | None = None) -> list[Able]:
    """The person can fill each post of one letter."""
    end = None if last is None else on(last)
    return [Able(key, person, on(first), end) for key in posts]
