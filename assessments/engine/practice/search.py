"""The smallest changes that would have met the standard: a search, not a guess.

Among all sets of criteria whose scores could be raised so that every part of the pass rule is
surely met, take those of the fewest criteria; among these, the smallest sum of rises of the
criteria's scores (each 0 to 1); among these, the first in the order of the standard. A set is
cut off only when the largest rises still open to it cannot fill what is lacking, or when its
sum is no smaller than the best found, so that nothing better is passed over.

The sets are many when the criteria are: after BUDGET steps the search stops, and a set found
by taking the most helpful criterion first is given instead, with ``proven`` false.
"""

from __future__ import annotations

from dataclasses import dataclass

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
    finder = _Finder(choices, lacks, budget)
    if not finder.fills(choices):
        return Found(None, True)
    needed = [each for each in choices if each.needed]
    free = [each for each in choices if not each.needed]
    try:
        for count in range(len(free) + 1):
            finder.sets(needed, free, 0, count)
            if finder.best is not None:
                return Found(finder.best, True)
    except _SpentError:
        if finder.best is not None:  # some set of the fewest criteria, not yet the smallest sum
            return Found(finder.best, False)
    return Found(finder.greedy(needed, free), False)


class _Finder:
    def __init__(self, choices: list[Choice], lacks: list[Lack], budget: int) -> None:
        self.lacks = lacks
        self.left = budget
        self.best: dict[int, Exact] | None = None
        self.best_sum: Exact = 0
        # What each criterion can add at most to each lack.
        self.most = {
            each.position: [
                lack.weights.get(each.position, 0) * (each.options[-1] - each.now) for lack in lacks
            ]
            for each in choices
        }

    def fills(self, chosen: list[Choice]) -> bool:
        """Whether the largest rises of the chosen fill every lack."""
        return all(
            sum(self.most[each.position][i] for each in chosen) >= lack.amount
            for i, lack in enumerate(self.lacks)
        )

    def reaches(self, chosen: list[Choice], rest: list[Choice], count: int) -> bool:
        """Whether ``count`` more of the rest could, at the very most, fill each lack alone."""
        for i, lack in enumerate(self.lacks):
            gains = sorted((self.most[each.position][i] for each in rest), reverse=True)
            have = sum(self.most[each.position][i] for each in chosen)
            if have + sum(gains[:count]) < lack.amount:
                return False
        return True

    def sets(self, chosen: list[Choice], free: list[Choice], start: int, count: int) -> None:
        """Try every set of the chosen and ``count`` of the free from ``start`` on."""
        self.step()
        if count == 0:
            if self.fills(chosen):
                self.rises(chosen, 0, {}, 0)
            return
        if not self.reaches(chosen, free[start:], count):
            return
        for i in range(start, len(free) - count + 1):
            self.sets([*chosen, free[i]], free, i + 1, count - 1)

    def rises(
        self, chosen: list[Choice], place: int, targets: dict[int, Exact], total: Exact
    ) -> None:
        """Try every rise of the chosen from ``place`` on; keep the smallest sum."""
        self.step()
        rest = chosen[place:]
        least = total + sum(each.options[0] - each.now for each in rest)
        if self.best is not None and least >= self.best_sum:
            return
        if not self.open(chosen, rest, targets):
            return
        if not rest:
            self.best, self.best_sum = dict(targets), total
            return
        for option in rest[0].options:
            targets[rest[0].position] = option
            self.rises(chosen, place + 1, targets, total + option - rest[0].now)
        del targets[rest[0].position]

    def open(self, chosen: list[Choice], rest: list[Choice], targets: dict[int, Exact]) -> bool:
        """Whether the targets so far, with the largest rises of the rest, fill every lack."""
        for i, lack in enumerate(self.lacks):
            have: Exact = sum(self.most[each.position][i] for each in rest)
            for each in chosen[: len(chosen) - len(rest)]:
                rise = targets[each.position] - each.now
                have += lack.weights.get(each.position, 0) * rise
            if have < lack.amount:
                return False
        return True

    def greedy(self, needed: list[Choice], free: list[Choice]) -> dict[int, Exact]:
        """The most helpful first until it suffices; then leave out what is not needed."""
        order = sorted(free, key=lambda each: (-sum(self.most[each.position]), each.position))
        chosen = list(needed)
        for each in order:
            if self.fills(chosen):
                break
            chosen.append(each)
        for each in reversed(chosen[len(needed) :]):
            without = [other for other in chosen if other is not each]
            if self.fills(without):
                chosen = without
        return {each.position: each.options[-1] for each in chosen}

    def step(self) -> None:
        """Count a step; stop when the budget is spent."""
        if self.left == 0:
            raise _SpentError
        self.left -= 1
