"""The smallest changes that would have met the standard: a search, not a guess.

Among all sets of criteria whose scores could be raised so that every part of the pass rule is
surely met, take those of the fewest criteria; among these, the smallest sum of rises of the
criteria's scores (each 0 to 1); among these, the first in the order of the standard. A set is
cut off only when the largest rises still open to it cannot fill what is lacking, or when its
sum is no smaller than the best found, so that nothing better is passed over.

The sets are many when the criteria are: after BUDGET steps the search stops, and a set found
by leaving out the least helpful criteria first is given instead, with ``proven`` false.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import accumulate
from math import ceil, lcm
from operator import add, ge
from typing import NamedTuple

from assessments.engine.numbers import Exact

BUDGET = 50_000


@dataclass(frozen=True, slots=True)
class Choice:
    """A criterion that could be raised: its position, its score and those it could rise to.

    ``needed`` when no set without it can do; then ``options`` hold only what suffices.
    """

    position: int
    now: Exact
    options: tuple[Exact, ...]
    needed: bool


@dataclass(frozen=True, slots=True)
class Lack:
    """A part of the rule: the rises times their weights must come to at least ``amount``."""

    weights: dict[int, int]
    amount: Exact


@dataclass(frozen=True, slots=True)
class Found:
    """The score each criterion should rise to, by position; None when no rise would do."""

    targets: dict[int, Exact] | None
    proven: bool


class _SpentError(Exception):
    """The budget of steps is used up."""


def search(choices: list[Choice], lacks: list[Lack], budget: int = BUDGET) -> Found:
    """The smallest changes, as the module says."""
    needed = [each for each in choices if each.needed]
    free = [each for each in choices if not each.needed]
    finder = _Finder(needed, free, lacks, budget)
    if not finder.full(finder.most(choices)):
        return Found(None, True)
    have = finder.most(needed)
    least = sum(finder.least(each) for each in needed)
    try:
        for count in range(len(free) + 1):
            finder.sets(needed, have, least, 0, count)
            if finder.best is not None:
                return Found(finder.best, True)
    except _SpentError:
        if finder.best is not None:  # some set of the fewest criteria, not yet the smallest sum
            return Found(finder.best, False)
    return Found(finder.greedy(needed), False)


Gains = list[int]
"""What rises add to each lack, in the order of the lacks."""


class _Rise(NamedTuple):
    """A rise of one criterion to ``option``; ``size`` is how far."""

    option: Exact
    size: int
    gains: Gains


class _Finder:
    """The search itself.

    Scores, and with them gains and what is lacking, are multiplied by their common denominator:
    sums and comparisons of whole numbers are many times faster than those of fractions.
    """

    def __init__(
        self, needed: list[Choice], free: list[Choice], lacks: list[Lack], budget: int
    ) -> None:
        self.free = free
        self.left = budget
        self.best: dict[int, Exact] | None = None
        self.best_size = 0
        choices = [*needed, *free]
        scale = lcm(*(x.denominator for each in choices for x in (each.now, *each.options)))
        # Gains are whole, so that they reach an amount exactly when they reach it rounded up.
        self.amounts = [ceil(lack.amount * scale) for lack in lacks]
        self.nothing = [0] * len(lacks)
        self.options = {
            each.position: _rises(
                each, [lack.weights.get(each.position, 0) for lack in lacks], scale
            )
            for each in choices
        }
        self.tops: dict[int, list[list[int]]] = {}

    def full(self, gains: Gains) -> bool:
        """Whether these gains fill every lack."""
        return all(map(ge, gains, self.amounts))

    def most(self, chosen: list[Choice]) -> Gains:
        """The gains of the largest rises of the chosen."""
        have = self.nothing
        for each in chosen:
            have = list(map(add, have, self.options[each.position][-1].gains))
        return have

    def least(self, choice: Choice) -> int:
        """The size of the smallest rise of a criterion."""
        return self.options[choice.position][0].size

    def reaches(self, have: Gains, start: int, count: int) -> bool:
        """Whether ``count`` more of the free from ``start`` on could fill each lack alone."""
        if start not in self.tops:
            self.tops[start] = self._tops(self.free[start:])
        return all(
            gain + top[count] >= amount
            for gain, top, amount in zip(have, self.tops[start], self.amounts, strict=True)
        )

    def _tops(self, rest: list[Choice]) -> list[list[int]]:
        """For each lack, the most that 0, 1, 2, … of the rest could add to it."""
        columns = zip(*(self.options[each.position][-1].gains for each in rest), strict=True)
        return [list(accumulate(sorted(gains, reverse=True), initial=0)) for gains in columns]

    def sets(self, chosen: list[Choice], have: Gains, least: int, start: int, count: int) -> None:
        """Try every set of the chosen and ``count`` of the free from ``start`` on.

        ``have`` is what the chosen gain at most, ``least`` the smallest sum of their rises.
        """
        self.step()
        if count == 0:
            if self.full(have) and self.smaller(least):
                _Rises(self, chosen).from_place(0, self.nothing, 0)
            return
        if not self.reaches(have, start, count):
            return
        free = self.free
        for i in range(start, len(free) - count + 1):
            each = free[i]
            more = list(map(add, have, self.options[each.position][-1].gains))
            self.sets([*chosen, each], more, least + self.least(each), i + 1, count - 1)

    def smaller(self, least: int) -> bool:
        """Whether a sum of at least so much can be below the best found; counts a step."""
        self.step()
        return self.best is None or least < self.best_size

    def greedy(self, needed: list[Choice]) -> dict[int, Exact]:
        """Leave out what is not needed, the least helpful first."""
        order = sorted(self.free, key=lambda each: (-sum(self.most([each])), each.position))
        chosen = [*needed, *order]
        for each in reversed(order):
            without = [other for other in chosen if other is not each]
            if self.full(self.most(without)):
                chosen = without
        return {each.position: each.options[-1] for each in chosen}

    def step(self) -> None:
        """Count a step; stop when the budget is spent."""
        if self.left == 0:
            raise _SpentError
        self.left -= 1


class _Rises:
    """Every way for the chosen to rise; the finder keeps the one of the smallest sum."""

    def __init__(self, finder: _Finder, chosen: list[Choice]) -> None:
        self.finder = finder
        self.chosen = chosen
        self.targets: dict[int, Exact] = {}
        # From each place on: the smallest sum of rises, and the most that they could add.
        self.least = [0]
        self.most = [finder.nothing]
        for each in reversed(chosen):
            options = finder.options[each.position]
            self.least.append(self.least[-1] + options[0].size)
            self.most.append(list(map(add, self.most[-1], options[-1].gains)))
        self.least.reverse()
        self.most.reverse()

    def from_place(self, place: int, have: Gains, size: int) -> None:
        """Try every rise of the chosen from ``place`` on; those before gain ``have``."""
        finder = self.finder
        if not finder.full(list(map(add, have, self.most[place]))):
            return
        if place == len(self.chosen):
            finder.best, finder.best_size = dict(self.targets), size
            return
        position = self.chosen[place].position
        for rise in finder.options[position]:
            after = size + rise.size
            if finder.smaller(after + self.least[place + 1]):
                self.targets[position] = rise.option
                self.from_place(place + 1, list(map(add, have, rise.gains)), after)


def _rises(choice: Choice, weights: list[int], scale: int) -> list[_Rise]:
    sizes = [int((option - choice.now) * scale) for option in choice.options]
    return [
        _Rise(option, size, [weight * size for weight in weights])
        for option, size in zip(choice.options, sizes, strict=True)
    ]
