"""What everybody entered in a closed round, by letter, ready to be shown."""

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from assessments.engine.numbers import exact
from assessments.evidence.judging.spread import spread
from assessments.evidence.results import Section, Table, section_document
from assessments.models import JudgingRound, Panel
from assessments.queries.panel.arrays import ebel_arrays, judgement_arrays, limits_arrays
from assessments.queries.panel.asked import RATINGS, cell_title, judges_pieces

TRAINING = 0
NOTE = "The letters stand for the judges. What is missing is never filled in."


def spread_of(panel: Panel, round: JudgingRound, document: Mapping[str, Any]) -> dict[str, Any]:
    """Return the section on a closed round; ``document`` is what the judges are shown.

    Constant number of queries. Where a round before it counts, estimates tell the change.
    """
    if judges_pieces(panel):
        return section_document(_pieces(panel, round))
    letters, estimates = _by_criterion(panel, round)
    earlier = panel.rounds.filter(number=round.number - 1).exclude(number=TRAINING).first()
    return section_document(
        spread(
            estimates,
            items=[row["title"] for row in document["criteria"]],
            weights=[float(exact(row["weight"])) for row in document["criteria"]],
            # The same judges: those seated now.
            previous=None if earlier is None else _by_criterion(panel, earlier)[1],
            judges=letters,
        )
    )


def limits_of(panel: Panel, round: JudgingRound) -> dict[str, Any]:
    """Return the section on the limits of the sense check."""
    found = limits_arrays(panel, round)
    rows = tuple(
        (f"Judge {name}", *(None if np.isnan(each) else each for each in limits.tolist()))
        for name, limits in zip(found.judges, found.estimates, strict=True)
    )
    entered = sum(row[1] is not None for row in rows)
    columns = ("Judge", "Lowest cut", "Highest cut", "Fewest not yet", "Most not yet")
    return section_document(
        Section(
            "limits",
            "What the judges think reasonable",
            f"{entered} of {len(rows)} judges said between what a reasonable cut lies, and between "
            "what a reasonable share of trainees not yet meeting it.",
            tables=(Table("limits", "Limits of the sense check (shares)", columns, rows),),
            notes=(NOTE,),
        )
    )


def placements_of(panel: Panel, round: JudgingRound, document: Mapping[str, Any]) -> dict[str, Any]:
    """Return the section on where the judges of an Ebel panel placed each criterion."""
    found = ebel_arrays(panel, round)
    titles = {row["key"]: row["title"] for row in document["criteria"]}
    rows = tuple(
        (titles[item], *(cell and cell_title(cell) for cell in column))
        for item, column in zip(found.items, zip(*found.placements, strict=True), strict=True)
    )
    columns = ("Criterion", *(f"Judge {name}" for name in found.judges))
    return section_document(
        Section(
            "placements",
            "Where the judges placed the criteria",
            f"{sum(None not in own for own in found.placements)} of {len(found.judges)} judges "
            f"placed all {len(found.items)} criteria by relevance and difficulty.",
            tables=(Table("placements", "Relevance and difficulty", columns, rows),),
            notes=(NOTE,),
        )
    )


def _by_criterion(panel: Panel, round: JudgingRound) -> tuple[tuple[str, ...], NDArray[np.float64]]:
    """Return the letters of the seated judges, and their shares by criterion."""
    if panel.method != Panel.Method.EBEL:
        found = judgement_arrays(panel, round)
        return found.judges, found.estimates
    placed = ebel_arrays(panel, round)
    shares = np.full((len(placed.judges), len(placed.items)), np.nan)
    for row, cells in enumerate(placed.placements):
        for column, cell in enumerate(cells):
            if cell is not None:
                shares[row, column] = placed.shares[row, placed.cells.index(cell)]
    return placed.judges, shares


def _pieces(panel: Panel, round: JudgingRound) -> Section:
    found = judgement_arrays(panel, round)
    words = (
        {float(rating): str(rating) for rating in RATINGS}
        if panel.method == Panel.Method.BORDERLINE
        else {1.0: "Competent", 0.0: "Not yet"}
    )
    rows = tuple(
        (f"Piece {number}", *(words.get(value) for value in column.tolist()))
        for number, column in enumerate(found.estimates.T, 1)
    )
    whole = int((~np.isnan(found.estimates)).all(axis=1).sum())
    return Section(
        "spread",
        "How the judges saw the pieces",
        f"{whole} of {len(found.judges)} judges judged all {len(found.items)} pieces.",
        tables=(
            Table(
                "pieces",
                "Judgements by piece",
                ("Piece", *(f"Judge {name}" for name in found.judges)),
                rows,
            ),
        ),
        notes=(NOTE,),
    )
