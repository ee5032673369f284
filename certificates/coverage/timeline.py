"""What a drawing of a coverage shows: when each post is filled, and when it is short."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date

from certificates.coverage.model import Coverage
from certificates.coverage.wording import count, day, listed

FILLED, SHORT = "filled", "short"
Say = Callable[[str], str]
"""How a text of a drawing is said, such as in another language."""


@dataclass(frozen=True, slots=True)
class Bar:
    """Days on which a post is ``filled`` or ``short``, both ends included."""

    first: date
    last: date
    state: str


@dataclass(frozen=True, slots=True)
class Row:
    """A post with its bars in order; ``words`` say when it is short."""

    key: str
    title: str
    bars: tuple[Bar, ...]

    @property
    def short(self) -> tuple[Bar, ...]:
        """The bars on which the post is short."""
        return tuple(bar for bar in self.bars if bar.state == SHORT)

    @property
    def words(self) -> str:
        """When the post is short, or that it is filled, as words beside the bars."""
        if not self.short:
            return "filled on all its days"
        shown = [_days(bar) for bar in self.short[:2]]
        if more := len(self.short) - len(shown):
            shown.append(f"{count(more)} more {'stretch' if more == 1 else 'stretches'}")
        return f"short {listed(shown)}"


@dataclass(frozen=True, slots=True)
class Timeline:
    """Posts as rows over days; ``breaks`` is the first day not covered."""

    first: date
    last: date
    rows: tuple[Row, ...]
    breaks: date | None

    @property
    def words(self) -> str:
        """All that the drawing shows, for who cannot see it."""
        return self.told(str)

    def told(self, say: Say) -> str:
        """The same, each of its parts as ``say`` says it."""
        says = [say(f"From {day(self.first)} to {day(self.last)}.")]
        if self.breaks:
            says.append(f"{say(f'First day not covered: {day(self.breaks)}')}.")
        says += [f"{say(row.title)}: {say(row.words)}." for row in self.rows if row.short]
        filled = [say(row.title) for row in self.rows if not row.short]
        if filled:
            says.append(f"{say('Filled on all their days')}: {', '.join(filled)}.")
        return " ".join(says)


def timeline(found: Coverage, *, short_only: bool = False) -> Timeline:
    """The rows of all posts with a day in the coverage, or only of those that are short once.

    A post is short while it is in a gap: together, the posts of a gap need more masons than there
    are, so that one of them is short whoever goes where.
    """
    bars: dict[str, list[Bar]] = {post.key: [] for post in found.posts}
    for span in found.spans:
        in_gap = {post for gap in span.gaps for post in gap.posts}
        for post in span.assigned:
            _lengthen(bars[post], Bar(span.first, span.last, SHORT if post in in_gap else FILLED))
    rows = [Row(post.key, post.title, tuple(bars[post.key])) for post in found.posts]
    shown = tuple(row for row in rows if (row.short if short_only else row.bars))
    return Timeline(found.first, found.last, shown, found.breaks.day if found.breaks else None)


def _lengthen(bars: list[Bar], bar: Bar) -> None:
    """Add a bar; spans follow on each other, so one of the same state goes on."""
    if bars and bars[-1].state == bar.state:
        bar = replace(bars.pop(), last=bar.last)
    bars.append(bar)


def _days(bar: Bar) -> str:
    if bar.first == bar.last:
        return f"on {day(bar.first)}"
    return f"from {day(bar.first)} to {day(bar.last)}"
