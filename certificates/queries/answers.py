"""Which of a crew answers what the posts ask, on which days, and by which record."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date
from typing import NamedTuple
from uuid import UUID

from certificates.coverage import Able
from certificates.coverage.stays import joined
from certificates.queries.needs import Ask, Judge, Place, Stretch, counting
from certificates.queries.qualified import Held


class Row(NamedTuple):
    """A record that counts while its holder is employed, in ``days``; ``last`` is its own last."""

    days: list[Stretch]
    last: date
    held: Held


Batches = Mapping[tuple[int, str], Mapping[tuple[int, UUID], Sequence[Row]]]
"""By provider and program code, then by version and standard: what is judged alike."""
Answers = Mapping[int, list[Row]]
"""By person the records that answer what is asked."""


def batches_of(
    held: Iterable[Held], employed: Mapping[int, Sequence[Stretch]], *, confirming: bool
) -> Batches:
    """The records that count on some day on which the holder is employed; each looked at once."""
    found: dict[tuple[int, str], dict[tuple[int, UUID], list[Row]]] = {}
    for one in held:
        stretch = counting(one, confirming=confirming)
        days = common([stretch], employed[one.holder_id]) if stretch else []
        if stretch and days:
            family = found.setdefault((one.provider_id, one.program_code), {})
            batch = family.setdefault((one.program_version, one.standard_id), [])
            batch.append(Row(days, stretch[1], one))
    return found


def answers_of(ask: Ask, batches: Batches, judge: Judge) -> Answers:
    """Whose records answer what is asked."""
    found: dict[int, list[Row]] = defaultdict(list)
    for (version, standard), rows in batches.get((ask.provider, ask.code), {}).items():
        if version >= ask.version and not judge.shortfalls(ask, standard):
            for row in rows:
                found[row.held.holder_id].append(row)
    return found


def able_at(place: Place, answers: Mapping[Ask, Answers], first: date) -> Iterator[Able]:
    """Who can fill the place when; what is past, or not while the post is open, is left out."""
    begins, closes = max(place.post.starts_on, first), place.post.ends_on
    found, *more = (answers[ask] for ask in place.asks)
    for person, rows in found.items():
        stretches = _union(rows)
        for other in more:
            stretches = common(stretches, _union(other.get(person, [])))
        for low, high in stretches:
            if low <= closes and begins <= high:
                yield Able(place.key, str(person), low, None if high == date.max else high)


def _union(rows: Sequence[Row]) -> list[Stretch]:
    if len(rows) == 1:
        return rows[0].days
    return joined(stretch for row in rows for stretch in row.days)


def common(one: Iterable[Stretch], other: Iterable[Stretch]) -> list[Stretch]:
    """The days that are in both.

    >>> first, last = date(2027, 3, 1), date(2027, 3, 9)
    >>> common([(first, date.max)], [(date.min, last)]) == [(first, last)]
    True
    """
    return [(max(a, c), min(b, d)) for a, b in one for c, d in other if max(a, c) <= min(b, d)]


class HeldBy(Mapping[tuple[str, int], Held]):
    """By which record a person can fill a place: {(key of the place, person): Held}.

    Of several records the one that counts longest; for a lead's place that of the lead's program,
    since the other stands under the post's own key. Posts that ask the same share their rows.
    """

    def __init__(self, places: Iterable[Place], answers: Mapping[Ask, Answers]) -> None:
        self._of = {place.key: [answers[ask] for ask in place.asks] for place in places}

    def __getitem__(self, key: tuple[str, int]) -> Held:
        *others, last = self._of[key[0]]
        if not all(key[1] in other for other in others):
            raise KeyError(key)
        # Not by []: an answer of nobody is no answer.
        rows = last.get(key[1])
        if not rows:
            raise KeyError(key)
        return max(rows, key=_longest).held

    def __iter__(self) -> Iterator[tuple[str, int]]:
        for key, (*others, last) in self._of.items():
            for person in last:
                if all(person in other for other in others):
                    yield key, person

    def __len__(self) -> int:
        return sum(1 for _ in self)


def _longest(row: Row) -> tuple[date, date, str]:
    return row.last, row.held.issued_on, row.held.number
