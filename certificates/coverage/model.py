"""What goes in and what comes out: posts, who is able to fill them, and how far they are filled."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

Names = Mapping[str, str]
"""From the key of a person to the name in sentences; who is not in it appears by the key."""


class CoverageError(ValueError):
    """Input that cannot be used: where it stands, and what to write instead."""

    def __init__(self, path: str, message: str) -> None:
        self.path = path
        self.message = message
        super().__init__(f"{path}: {message}")


@dataclass(frozen=True, slots=True)
class Post:
    """``places`` masons are needed each day from ``first`` to ``last``, both days included.

    A place for a lead is a post of its own. ``title`` reads well after the word "post".
    """

    key: str
    title: str
    places: int
    first: date
    last: date


@dataclass(frozen=True, slots=True)
class Able:
    """``person`` can fill ``post`` from ``first`` to ``last``, both included; None: no end known.

    Everything is in it already: the qualification, what it covers, and the employment.
    """

    post: str
    person: str
    first: date
    last: date | None = None


@dataclass(frozen=True, slots=True)
class Gap:
    """Posts that need more masons than there are who can fill any of them: a Hall violator.

    ``places`` are those of the posts; ``people`` are all who can fill at least one of them,
    without the people in ``counted``, who can as well but are needed for a gap told before.
    """

    posts: tuple[str, ...]
    places: int
    people: tuple[str, ...]
    counted: tuple[str, ...]
    sentence: str

    @property
    def unfilled(self) -> int:
        """How many places stay empty whoever goes where."""
        return self.places - len(self.people)


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of days on which nothing changes, both ends included.

    ``filled`` is the most places that can be filled at once. ``assigned`` has a row for each post
    of these days: who could fill it, in the order of their keys. The gaps' unfilled places add
    up to ``places - filled``.
    """

    first: date
    last: date
    places: int
    filled: int
    gaps: tuple[Gap, ...]
    assigned: Mapping[str, tuple[str, ...]]

    @property
    def unfilled(self) -> int:
        """How many places stay empty whoever goes where."""
        return self.places - self.filled


@dataclass(frozen=True, slots=True)
class Break:
    """The first day that is not covered, and what changed on it.

    ``ended`` are the abilities that ended the day before and are missed in one of the day's gaps,
    within the days asked for; ``begun`` are the posts of the gaps that begin on the day. Both may
    be empty on the first day of all.
    """

    day: date
    ended: tuple[Able, ...]
    begun: tuple[str, ...]
    sentence: str


@dataclass(frozen=True, slots=True)
class Coverage:
    """All days from ``first`` to ``last`` in spans without holes.

    ``breaks`` is None when every day is covered. ``posts`` are those that came in, in the order
    of their first days and keys.
    """

    first: date
    last: date
    posts: tuple[Post, ...]
    spans: tuple[Span, ...]
    breaks: Break | None


@dataclass(frozen=True, slots=True)
class Candidate:
    """One assessment that would make ``person`` able to fill ``post``.

    ``effort`` is a number from 0 up in any one unit, such as days; ``missing`` says what is.
    """

    person: str
    post: str
    effort: float
    missing: str


@dataclass(frozen=True, slots=True)
class Closing:
    """An assessment that fills ``filled_more`` places more: one, since one mason fills one."""

    person: str
    post: str
    filled_more: int
    missing: str
    effort: float


@dataclass(frozen=True, slots=True)
class Plan:
    """Assessments that together fill as many places as any of those offered can.

    No shorter list fills as many, and none as short takes less effort. ``unfilled`` places stay
    empty; ``closes`` says that none does.
    """

    steps: tuple[Candidate, ...]
    filled_more: int
    unfilled: int
    effort: float
    sentence: str

    @property
    def closes(self) -> bool:
        """Whether every place is filled when all steps succeed."""
        return self.unfilled == 0
