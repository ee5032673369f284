"""Who may do which work: told by the app above, which knows the records."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from training.models import CourseRun


@dataclass(frozen=True)
class MayDo:
    """A record issued on a run: whose, how it stands, and what it covers.

    ``state`` in words; ``until`` the last day on which it counts as known now, ISO 8601, or
    empty; ``covers`` are (what, range) in words, empty where the standard sets no range.
    """

    person: int
    number: str
    issued: str
    state: str
    counts: bool
    until: str
    covers: tuple[tuple[str, str], ...] = ()


Source = Callable[[CourseRun], Iterable[MayDo]]
_sources: list[Source] = []


def report_part_source(source: Source) -> Source:
    """Register ``source`` once; usable as a decorator."""
    if source not in _sources:
        _sources.append(source)
    return source


def who_may_do(run: CourseRun) -> list[MayDo]:
    """Return what every source knows of ``run``."""
    return [row for source in _sources for row in source(run)]
