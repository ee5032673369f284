"""How many of the attempts decided before would have reached a cut."""

from collections.abc import Sequence
from dataclasses import dataclass

from assessments.engine.numbers import exact
from assessments.queries.panel.scores import Scored


@dataclass(frozen=True)
class PassingRate:
    """A cut with how many of the scores reach it; the cut alone, not the rest of the rule."""

    name: str
    cut: str
    reached: int
    scores: int

    @property
    def percent(self) -> int:
        """The rate in whole percent."""
        return round(100 * self.reached / self.scores)


def passing_rates(
    scores: Sequence[Scored], cuts: Sequence[tuple[str, str]]
) -> tuple[PassingRate, ...]:
    """Return the rate for each (name, exact cut); none where there are no scores. Exact."""
    if not scores:
        return ()
    return tuple(
        PassingRate(name, cut, sum(exact(row.score) >= exact(cut) for row in scores), len(scores))
        for name, cut in cuts
    )
