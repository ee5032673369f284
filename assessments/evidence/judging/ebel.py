"""Ebel's method: how relevant and how difficult each criterion is, and a share for each cell."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from math import isfinite, nan

from numpy.typing import ArrayLike

from assessments.evidence.errors import EvidenceError
from assessments.evidence.judging.estimates import checked
from assessments.evidence.judging.panel import recommend
from assessments.evidence.judging.recommendation import Recommendation
from assessments.evidence.results import Cell, Figure, NotComputed, Result, Table

RELEVANCE = ("essential", "important", "acceptable", "questionable")
DIFFICULTY = ("easy", "medium", "hard")
Place = tuple[str, str]
_SOURCE = "Ebel 1972, p. 494"


def ebel(
    placements: Sequence[Sequence[Place | None]],
    shares: Sequence[Mapping[Place, float]],
    weights: ArrayLike,
    *,
    judges: Sequence[str],
    items: Sequence[str],
    statistic: str = "mean",
    trim: float = 0.2,
    samples: int = 10_000,
    seed: int = 1,
) -> Recommendation:
    """The cut from criteria placed by relevance and difficulty, with a share for each cell.

    ``placements`` is J judges x I criteria of (relevance, difficulty), None where there is none;
    ``shares`` one mapping for each judge from such a cell to the share, from 0 to 1, of masons
    who just meet the standard that would meet its criteria. A judge's cut is sum(weight x share)
    / sum(weight); the panel's, its errors, interval and band are those of ``angoff``. A criterion
    not placed, or placed in a cell without a share, is a gap: that judge is left out of the cut.
    EvidenceError for an unknown cell, a share out of range and wrong shapes.

    Ebel 1972, Essentials of Educational Measurement, pp. 492-494.

    >>> found = ebel(
    ...     [[("essential", "easy")], [("essential", "hard")]],
    ...     [{("essential", "easy"): 0.9}, {("essential", "hard"): 0.7}],
    ...     [1], judges=["A", "B"], items=["Flush"])
    >>> round(found.cut.value, 4)
    0.8
    """
    if len(placements) != len(judges) or any(len(row) != len(items) for row in placements):
        raise EvidenceError(
            "placements", f"Give {len(judges)} judges x {len(items)} criteria, None for a gap."
        )
    if len(shares) != len(judges):
        raise EvidenceError("shares", f"Give the shares of {len(judges)} judges.")
    for judge, row in enumerate(placements):
        for item, place in enumerate(row):
            if place is not None:
                _check_place(place, f"placements[{judge}][{item}]")
    for judge, mapping in enumerate(shares):
        _check_shares(mapping, f"shares[{judge}]")
    given = checked(
        [
            [nan if place is None else mapping.get(place, nan) for place in row]
            for row, mapping in zip(placements, shares, strict=True)
        ],
        weights,
        judges,
        items,
    )
    return recommend(
        "ebel",
        "The passing standard by Ebel's method",
        _SOURCE,
        given,
        statistic,
        trim=trim,
        samples=samples,
        seed=seed,
        why_missing="not placed, or no share for its cell",
        tables=(_cells(placements, shares), _places(placements, items)),
    )


def ebel_counts(counts: Mapping[Place, int], shares: Mapping[Place, float]) -> Result:
    """The cut from placements already counted: sum(count x share) / sum(count), a share.

    Ebel 1972, p. 494. No criterion counted, or a counted cell without a share: not computed.
    EvidenceError for an unknown cell, a negative count and a share out of range.

    >>> easy, hard = ("essential", "easy"), ("essential", "hard")
    >>> ebel_counts({easy: 3, hard: 1}, {easy: 1.0, hard: 0.6}).value
    0.9
    """
    for place, number in counts.items():
        _check_place(place, "counts")
        if number < 0:
            raise EvidenceError("counts", f"{_said(place)}: the count must be 0 or more.")
    _check_shares(shares, "shares")
    title = "Cut from counted placements"
    used = {place: number for place, number in counts.items() if number}
    if not used:
        return NotComputed("cut", title, "No criterion was placed: count at least one.")
    without = [_said(place) for place in used if place not in shares]
    if without:
        return NotComputed("cut", title, f"No share is given for {', '.join(without)}.")
    total = sum(used.values())
    value = sum(number * shares[place] for place, number in used.items()) / total
    return Figure("cut", title, value, n=total, source=_SOURCE)


def _check_place(place: Place, path: str) -> None:
    if len(place) != 2 or place[0] not in RELEVANCE or place[1] not in DIFFICULTY:
        raise EvidenceError(
            path, f"Give one of {', '.join(RELEVANCE)}, and one of {', '.join(DIFFICULTY)}."
        )


def _check_shares(shares: Mapping[Place, float], path: str) -> None:
    for place, share in shares.items():
        _check_place(place, path)
        if not (isfinite(share) and 0 <= share <= 1):
            raise EvidenceError(path, f"{_said(place)}: give a share from 0 to 1.")


def _said(place: Place) -> str:
    return f"{place[0]} and {place[1]}"


def _cells(
    placements: Sequence[Sequence[Place | None]], shares: Sequence[Mapping[Place, float]]
) -> Table:
    """How often each cell was chosen, and the shares the judges gave for it."""
    counted = Counter(place for row in placements for place in row if place is not None)
    rows: list[tuple[Cell, ...]] = []
    for relevance in RELEVANCE:
        for difficulty in DIFFICULTY:
            place = (relevance, difficulty)
            given = [mapping[place] for mapping in shares if place in mapping]
            mean = sum(given) / len(given) if given else None
            ends = (min(given), max(given)) if given else (None, None)
            rows.append((relevance, difficulty, counted[place], len(given), mean, *ends))
    return Table(
        "cells",
        "Relevance and difficulty, over all judges (shares)",
        ("Relevance", "Difficulty", "Placed here", "Judges", "Mean share", "Lowest", "Highest"),
        tuple(rows),
    )


def _places(placements: Sequence[Sequence[Place | None]], items: Sequence[str]) -> Table:
    """How the judges placed each criterion."""
    rows = []
    for position, item in enumerate(items):
        chosen = [place for row in placements if (place := row[position]) is not None]
        tallies = [
            ", ".join(
                f"{word} {times}"
                for word in words
                if (times := sum(place[side] == word for place in chosen))
            )
            for side, words in ((0, RELEVANCE), (1, DIFFICULTY))
        ]
        rows.append((item, *tallies))
    return Table(
        "placements",
        "How many judges placed each criterion where",
        ("Criterion", "Relevance", "Difficulty"),
        tuple(rows),
    )
