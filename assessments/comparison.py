"""An assessor's scores beside the agreed ones, exactly: how many are the same, which way they lean.

A criterion is scored exactly as agreed where it has the same result (met, within the guard band,
not met, not applicable) and the same score; for a rated one that is the same level. The bias is
the mean of given score - agreed score over the criteria that have both.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil
from typing import Any, Protocol

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from assessments.engine.judge import judge_value
from assessments.engine.kinds import CriterionResult
from assessments.engine.numbers import decimal_places, number_text, percent_text
from assessments.engine.standard import Criterion, Standard
from assessments.wording.engine import amount_again


@dataclass(frozen=True)
class Compared:
    """One criterion as agreed and as given; ``difference`` is None where one has no score."""

    criterion: Criterion
    agreed: CriterionResult
    given: CriterionResult

    @property
    def same(self) -> bool:
        """Whether it was scored exactly as agreed."""
        return (self.given.result, self.given.score) == (self.agreed.result, self.agreed.score)

    @property
    def difference(self) -> Fraction | None:
        """The given score less the agreed one."""
        if self.given.score is None or self.agreed.score is None:
            return None
        return Fraction(self.given.score) - Fraction(self.agreed.score)


def compare(
    standard: Standard, agreed: Mapping[str, Any], given: Mapping[str, Any]
) -> list[Compared]:
    """Return the criteria of ``agreed`` in the standard's order; both map keys to values.

    A criterion that ``given`` lacks is left out. Raises EngineError for a value that the
    criterion cannot have.
    """
    return [
        Compared(
            criterion,
            judge_value(criterion, agreed[criterion.key]),
            judge_value(criterion, given[criterion.key]),
        )
        for criterion in standard.criteria
        if criterion.key in agreed and criterion.key in given
    ]


@dataclass(frozen=True)
class Tally:
    """How many criteria were compared, how many are the same, and the exact mean difference."""

    criteria: int
    same: int
    bias: Fraction | None

    @property
    def share(self) -> Fraction | None:
        """The share scored exactly as agreed; None without a criterion."""
        return Fraction(self.same, self.criteria) if self.criteria else None


def tally(rows: Iterable[Compared]) -> Tally:
    """Return the figures over criteria of one sitting or several."""
    found = list(rows)
    differences = [row.difference for row in found if row.difference is not None]
    bias = sum(differences, Fraction(0)) / len(differences) if differences else None
    return Tally(len(found), sum(row.same for row in found), bias)


class Asked(Protocol):
    """What a program asks of an assessor; ``exact`` and ``bias`` are exact shares as text."""

    @property
    def pieces(self) -> int:
        """How many reference pieces."""

    @property
    def months(self) -> int:
        """Within how many months."""

    @property
    def exact(self) -> str:
        """The least share scored exactly as agreed."""

    @property
    def bias(self) -> str:
        """The largest mean difference, either way."""


def shortfalls(asked: Asked, pieces: int, found: Tally) -> list[str]:
    """Return a sentence for each part of ``asked`` that is not reached, by how much; exact.

    What lies exactly on the figure asked for is enough.
    """
    return [*_pieces(asked, pieces), *_same(asked, found), *_bias(asked, found)]


def _pieces(asked: Asked, pieces: int) -> Sequence[str]:
    if pieces >= asked.pieces:
        return ()
    missing = asked.pieces - pieces
    wanted = ngettext("{count} reference piece", "{count} reference pieces", asked.pieces)
    span = ngettext("{count} month", "{count} months", asked.months)
    text = ngettext(
        "{done} of {pieces} scored within {months}: {missing} more is needed.",
        "{done} of {pieces} scored within {months}: {missing} more are needed.",
        missing,
    )
    return (
        text.format(
            done=pieces,
            pieces=wanted.format(count=asked.pieces),
            months=span.format(count=asked.months),
            missing=missing,
        ),
    )


def _same(asked: Asked, found: Tally) -> Sequence[str]:
    if not found.criteria:
        return ()
    needed = ceil(Fraction(asked.exact) * found.criteria)
    if found.same >= needed:
        return ()
    text = ngettext(
        "{same} of {count} criterion scored exactly as agreed; {share} is asked for, which is "
        "{needed} of them: {few} too few.",
        "{same} of {count} criteria scored exactly as agreed; {share} is asked for, which is "
        "{needed} of them: {few} too few.",
        found.criteria,
    )
    return (
        text.format(
            same=found.same,
            count=found.criteria,
            share=amount_again(percent_text(Fraction(asked.exact))),
            needed=needed,
            few=needed - found.same,
        ),
    )


def _bias(asked: Asked, found: Tally) -> Sequence[str]:
    most = Fraction(asked.bias)
    if not found.criteria:
        return ()
    if found.bias is None:
        return (_("No criterion has a score on both sides, so no mean difference can be taken."),)
    if abs(found.bias) <= most:
        return ()
    return (
        _("The scores lie {lean}; at most {most} either way is allowed: {more} too much.").format(
            lean=bias_text(found.bias),
            most=points_text(most),
            more=points_text(abs(found.bias) - most),
        ),
    )


def points_text(value: Fraction) -> str:
    """A part of the whole scale for people; one too small for two places stays exact.

    >>> points_text(Fraction(1, 8)), points_text(Fraction(1, 99999))
    ('12.5 %', '100/99999 %')
    """
    percent = value * 100
    if decimal_places(percent, 2) is None and 0 < percent < Fraction(1, 100):
        return amount_again(f"{number_text(percent)} %")
    return amount_again(percent_text(value))


def signed_text(value: Fraction) -> str:
    """A difference on the scale with its sign.

    >>> signed_text(Fraction(1, 8)), signed_text(Fraction(-1, 3)), signed_text(Fraction(0))
    ('+12.5 %', 'about −33.33 %', '0 %')
    """
    sign = "+" if value > 0 else "−" if value < 0 else ""
    text = points_text(abs(value))
    place = next(place for place, each in enumerate(text) if each.isdigit())
    return f"{text[:place]}{sign}{text[place:]}"


def bias_text(bias: Fraction) -> str:
    """Which way and how far the scores lean, in words.

    >>> bias_text(Fraction(-1, 20))
    '5 % below the agreed ones on average'
    """
    if not bias:
        return _("neither above nor below the agreed ones on average")
    above = _("{points} above the agreed ones on average")
    below = _("{points} below the agreed ones on average")
    return (above if bias > 0 else below).format(points=points_text(abs(bias)))
