"""The sentences about gaps, with numbers up to twelve in words and long lists cut short."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

WORDS = (
    "none",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
)
MOST = 6
"""As many names are told; of a longer list one less, and then how many more there are."""


def count(number: int) -> str:
    """The number in a sentence.

    >>> count(3), count(13), count(5000)
    ('three', '13', '5,000')
    """
    return WORDS[number] if number < len(WORDS) else f"{number:,}"


def masons(number: int) -> str:
    """The number with its noun.

    >>> masons(1), masons(2)
    ('one mason', 'two masons')
    """
    return f"{count(number)} {'mason' if number == 1 else 'masons'}"


def listed(names: Sequence[str]) -> str:
    """The names as a sentence lists them; a long list is cut short.

    >>> listed(["B", "C"]), listed(["B", "C", "D"])
    ('B and C', 'B, C and D')
    >>> listed([str(number) for number in range(9)])
    '0, 1, 2, 3, 4 and 4 more'
    """
    shown = list(names)
    if len(shown) > MOST:
        shown = [*shown[: MOST - 1], f"{len(shown) - MOST + 1} more"]
    if len(shown) < 2:
        return "".join(shown)
    return f"{', '.join(shown[:-1])} and {shown[-1]}"


def titled(title: str) -> str:
    """The title of a post after the word "post": of several words, it stands in quotation marks.

    >>> titled("B"), titled("Tower, east face")
    ('B', '“Tower, east face”')
    """
    return f"“{title}”" if " " in title else title


def day(value: date) -> str:
    """A day as the pages write it.

    >>> day(date(2026, 5, 4))
    '4 May 2026'
    """
    return f"{value.day} {value:%B} {value.year}"


def gap_sentence(
    posts: Sequence[str], places: int, people: Sequence[str], counted: Sequence[str] = ()
) -> str:
    """What a gap is, from the posts' titles and the people's names.

    >>> gap_sentence(["B", "C"], 3, ["Ana Ruiz", "Tom Bell"])
    'Posts B and C need three masons; only two are qualified for either: Ana Ruiz and Tom Bell.'
    >>> gap_sentence(["A"], 2, [])
    'Post A needs two masons; nobody is qualified for it.'
    >>> gap_sentence(["D"], 1, [], ["Ana Ruiz"])
    'Post D needs one mason; besides Ana Ruiz, who is counted above, nobody is qualified for it.'
    """
    several = len(posts) > 1
    called = listed([titled(post) for post in posts])
    need = f"{'Posts' if several else 'Post'} {called} {'need' if several else 'needs'}"
    them = ("it", "either", "any of them")[min(len(posts), 3) - 1]
    besides = ""
    if counted:
        are = "is" if len(counted) == 1 else "are"
        besides = f"besides {listed(counted)}, who {are} counted above, "
    if not people:
        return f"{need} {masons(places)}; {besides}nobody is qualified for {them}."
    are = "is" if len(people) == 1 else "are"
    return (
        f"{need} {masons(places)}; {besides}only {count(len(people))} {are} qualified for {them}: "
        f"{listed(people)}."
    )
