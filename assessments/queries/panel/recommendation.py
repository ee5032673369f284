"""What a panel's judgements come to: the recommended cut, the sense check, the rounds."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from assessments.engine.numbers import exact
from assessments.evidence.errors import EvidenceError
from assessments.evidence.judging import (
    Recommendation,
    angoff,
    borderline_regression,
    contrasting_groups,
    ebel,
    hofstee,
)
from assessments.evidence.results import Figure, NotComputed, Result, Section, Table
from assessments.models import Criterion, JudgingRound, Panel
from assessments.queries.panel.arrays import (
    Judgements,
    ebel_arrays,
    judgement_arrays,
    limits_arrays,
)
from assessments.queries.panel.asked import piece_ids
from assessments.queries.panel.scores import Scored, earlier_scores, scores_of
from training.said import english

PLACES = 4  # a cut is recommended to a hundredth of a percent


@dataclass(frozen=True)
class Advice:
    """A recommendation with all that a lead reads beside it before adopting.

    ``judges`` are those who judged in the last closed round, ``rounds`` the closed ones that
    count. ``pieces`` are the scores of the attempts in the runs that the panel looks at;
    ``earlier`` those of attempts decided before on the same criteria, which change no cut.
    """

    recommendation: Recommendation
    movement: Section | None
    sense_check: Section | None
    judges: int
    rounds: int
    pieces: tuple[Scored, ...]
    earlier: tuple[Scored, ...]

    @property
    def sections(self) -> tuple[Section, ...]:
        """The sections in the order in which they are read."""
        found = (self.recommendation.section, self.movement, self.sense_check)
        return tuple(section for section in found if section is not None)

    @property
    def cut(self) -> str | None:
        """The recommended cut as exact text, to a hundredth of a percent; None without one."""
        result = self.recommendation.cut
        return share_text(result.value) if isinstance(result, Figure) else None

    @property
    def standard_error(self) -> str | None:
        """The standard error of the cut, written alike; None where there is none."""
        result = self.recommendation.cut
        if not isinstance(result, Figure) or result.standard_error is None:
            return None
        return share_text(result.standard_error)

    @property
    def suggested_band(self) -> str | None:
        """A band from the standard error, kept inside 100 %; None where there is none."""
        cut = self.recommendation.cut
        if not isinstance(cut, Figure) or cut.standard_error is None:
            return None
        band = next(
            (
                figure.value
                for figure in self.recommendation.section.figures
                if figure.key == "band" and isinstance(figure, Figure)
            ),
            cut.standard_error,
        )
        return share_text(min(band, 1 - float(share_text(cut.value))))

    @property
    def why_no_cut(self) -> str | None:
        """Why no cut is recommended, in a sentence; None where one is."""
        result = self.recommendation.cut
        return result.reason if isinstance(result, NotComputed) else None


def share_text(share: float) -> str:
    """Return a share as text, rounded to a hundredth of a percent.

    >>> share_text(4.42 / 6), share_text(0.7), share_text(1.0)
    ('0.7367', '0.7', '1')
    """
    return f"{share:.{PLACES}f}".rstrip("0").rstrip(".")


def recommendation(panel: Panel) -> Recommendation:
    """Return what the last closed round recommends, by the panel's method and statistic.

    Its cut is NotComputed, with the reason, before a round is closed or where the judgements
    bear none. Methods that need scores read the current decisions of the pieces judged.
    """
    rounds = counted_rounds(panel)
    return _recommended(panel, rounds, _pieces(panel))


def advice_of(panel: Panel) -> Advice:
    """Return the recommendation with the movement between rounds and the sense check.

    A constant number of queries for each closed round.
    """
    rounds = counted_rounds(panel)
    pieces, earlier = _pieces(panel), tuple(earlier_scores(panel))
    found = _recommended(panel, rounds, pieces)
    return Advice(
        recommendation=found,
        movement=_movement(panel, rounds, pieces, found.cut),
        sense_check=_sense_check(panel, rounds, pieces or earlier),
        judges=_judged(panel, rounds[-1]) if rounds else 0,
        rounds=len(rounds),
        pieces=pieces,
        earlier=earlier,
    )


def counted_rounds(panel: Panel) -> list[JudgingRound]:
    """Return the closed rounds that count, in order: round 0 was for training."""
    closed = JudgingRound.objects.filter(
        panel=panel, number__gte=1, state=JudgingRound.State.CLOSED
    )
    return list(closed.order_by("number"))


def _pieces(panel: Panel) -> tuple[Scored, ...]:
    """Return the scores of the pieces of the panel's source runs, if it has any."""
    return tuple(scores_of(piece_ids([panel])[panel.pk]))


def _recommended(
    panel: Panel, rounds: Sequence[JudgingRound], pieces: Sequence[Scored]
) -> Recommendation:
    if not rounds:
        return _none(panel, "No round that counts is closed yet: close one, then look again.")
    before = rounds[-2] if len(rounds) > 1 else None
    try:
        return _by_method(panel, rounds[-1], before, pieces)
    except EvidenceError as error:
        return _none(panel, error.message)


def _none(panel: Panel, reason: str) -> Recommendation:
    cut = NotComputed("cut", "Recommended cut", reason)
    title = f"What the panel recommends: {english(panel.get_method_display())}"
    return Recommendation(panel.method, cut, Section(panel.method, title, reason, (cut,)))


def _by_method(
    panel: Panel, last: JudgingRound, before: JudgingRound | None, pieces: Sequence[Scored]
) -> Recommendation:
    if panel.method == Panel.Method.EBEL:
        return _ebel(panel, last)
    given = judgement_arrays(panel, last)
    if panel.method == Panel.Method.ANGOFF:
        weights, titles = _criteria(panel, given.items)
        return angoff(
            given.estimates,
            weights,
            judges=_names(given.judges),
            items=titles,
            statistic=panel.statistic,
            previous=None if before is None else judgement_arrays(panel, before).estimates,
        )
    return _by_pieces(panel, given, pieces)


def _by_pieces(panel: Panel, given: Judgements, pieces: Sequence[Scored]) -> Recommendation:
    """Return the cut from whole pieces: of each the middle of its judges, and its score."""
    by_id = {str(row.attempt): row.share for row in pieces}
    scores = np.array([by_id.get(item, np.nan) for item in given.items])
    known = ~np.isnan(given.estimates)
    count = known.sum(axis=0)
    means = np.where(known, given.estimates, 0.0).sum(axis=0) / np.maximum(count, 1)
    use = (count > 0) & ~np.isnan(scores)
    unused = f"Left out for want of a judgement or a score: {_of(~use)} pieces."
    notes: tuple[str, ...] = () if use.all() else (unused,)
    if panel.method == Panel.Method.BORDERLINE:
        found = borderline_regression(means[use], scores[use])
        said = "A piece counts with the mean of its judges' ratings."
    else:
        split = use & (means == 0.5)
        use &= ~split
        found = contrasting_groups(means[use] > 0.5, scores[use])
        said = "A piece belongs to the group in which most of its judges put it."
        if split.any():
            notes += (f"Left out since the judges were evenly split: {_of(split)} pieces.",)
    section = replace(found.section, notes=(*found.section.notes, said, *notes))
    return replace(found, section=section)


def _of(which: NDArray[np.bool_]) -> str:
    return f"{int(which.sum())} of {len(which)}"


def _ebel(panel: Panel, last: JudgingRound) -> Recommendation:
    given = ebel_arrays(panel, last)
    weights, titles = _criteria(panel, given.items)
    shares = [
        {
            _place(cell): share
            for cell, share in zip(given.cells, row, strict=True)
            if not np.isnan(share)
        }
        for row in given.shares.tolist()
    ]
    return ebel(
        [[None if cell is None else _place(cell) for cell in row] for row in given.placements],
        shares,
        weights,
        judges=_names(given.judges),
        items=titles,
        statistic=panel.statistic,
    )


def _place(cell: str) -> tuple[str, str]:
    relevance, _, difficulty = cell.partition("-")
    return relevance, difficulty


def _criteria(panel: Panel, keys: Sequence[str]) -> tuple[list[float], list[str]]:
    """Return weights and titles by key; a title that stands twice has its key beside it."""
    rows = {
        key: (weight, title)
        for key, weight, title in Criterion.objects.filter(
            task__program=panel.program_id
        ).values_list("key", "weight", "title")
    }
    titles = [rows[key][1] for key in keys]
    return (
        [float(exact(rows[key][0])) for key in keys],
        [
            f"{title} ({key})" if titles.count(title) > 1 else title
            for key, title in zip(keys, titles, strict=True)
        ],
    )


def _names(letters: Sequence[str]) -> tuple[str, ...]:
    return tuple(f"Judge {letter}" for letter in letters)


def _judged(panel: Panel, last: JudgingRound) -> int:
    """Return how many judges seated now said anything in the round."""
    seated = panel.judges.filter(state="seated", judgements__round=last)
    return seated.distinct().count()


def _movement(
    panel: Panel, rounds: Sequence[JudgingRound], pieces: Sequence[Scored], last: Result
) -> Section | None:
    """Return the cut of each round; None before there are two to compare."""
    if len(rounds) < 2:
        return None
    before = [
        _recommended(panel, rounds[: place + 1], pieces).cut for place in range(len(rounds) - 1)
    ]
    found = list(zip(rounds, [*before, last], strict=True))
    rows = tuple(
        (
            f"Round {round.number}",
            _judged(panel, round),
            100 * cut.value if isinstance(cut, Figure) else None,
            100 * cut.standard_error
            if isinstance(cut, Figure) and cut.standard_error is not None
            else None,
        )
        for round, cut in found
    )
    return Section(
        "movement",
        "From round to round",
        _moved([cut for _, cut in found]),
        tables=(
            Table(
                "rounds",
                "The cut that each round came to",
                ("Round", "Judges", "Cut, %", "Standard error, percentage points"),
                rows,
            ),
        ),
        notes=("The last round is the one that counts: judges had talked over the one before.",),
    )


def _moved(cuts: Sequence[Result]) -> str:
    first, last = cuts[0], cuts[-1]
    if not (isinstance(first, Figure) and isinstance(last, Figure)):
        return "Not every round came to a cut, so there is no telling how it moved."
    move = 100 * (last.value - first.value)
    if abs(move) < 0.005:
        said = "The cut stayed where it was"
    else:
        said = f"The cut went {'up' if move > 0 else 'down'} by {abs(move):.2f} percentage points"
    if first.standard_error is None or last.standard_error is None:
        return f"{said} from the first round to the last."
    closer = "closer together" if last.standard_error < first.standard_error else "no closer"
    return f"{said} from the first round to the last, and the judges ended {closer}."


def _sense_check(
    panel: Panel, rounds: Sequence[JudgingRound], scores: Sequence[Scored]
) -> Section | None:
    """Return what the judges' limits and known scores come to by Hofstee; None if not asked."""
    if not panel.sense_check or not rounds:
        return None
    limits = _middle_limits(limits_arrays(panel, rounds[-1]))
    if limits is None:
        return _no_check("No judge said which cuts and failing rates are tolerable.")
    if not scores:
        return _no_check(
            "There are no scores yet to check the cut against: nobody was assessed before on "
            "these criteria."
        )
    try:
        return hofstee(np.array([row.share for row in scores]), *limits).section
    except EvidenceError as error:
        return _no_check(error.message)


def _no_check(reason: str) -> Section:
    figure = NotComputed("sense_check", "Cut by Hofstee's compromise", reason)
    return Section("sense_check", "Sense check", reason, (figure,))


def _middle_limits(given: Judgements) -> tuple[float, ...] | None:
    """Return the mean of each limit over the judges who gave all four; None where nobody did."""
    whole: NDArray[np.float64] = given.estimates[~np.isnan(given.estimates).any(axis=1)]
    return tuple(whole.mean(axis=0).tolist()) if len(whole) else None
