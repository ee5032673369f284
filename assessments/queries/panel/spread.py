"""What everybody entered in a closed round, by letter, ready to be shown."""

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from assessments.engine.numbers import exact
from assessments.evidence.judging.spread import spread
from assessments.evidence.results import Section, Table, section_document
from assessments.models import JudgingRound, Panel
from assessments.queries.panel.arrays import ebel_arrays, judgement_arrays, letters_of
from assessments.queries.panel.asked import RATINGS, cell_title, judges_pieces

TRAINING = 0
NOTE = "The letters stand for the judges. What is missing is never filled in."


def spread_of(panel: Panel, round: JudgingRound, document: Mapping[str, Any]) -> dict[str, Any]:
    """Return the section on a closed round; ``document`` is what the judges are shown.

    Constant number of queries. Where a round before it counts, estimates tell the change.
    """
    if judges_pieces(panel):
        return section_document(_pieces(panel, round))
    estimates = _by_letter(panel, round)
    earlier = panel.rounds.filter(number=round.number - 1).exclude(number=TRAINING).first()
    return section_document(
        spread(
            estimates,
            items=[row["title"] for row in document["criteria"]],
            weights=[float(exact(row["weight"])) for row in document["criteria"]],
            previous=None if earlier is None else _by_letter(panel, earlier),
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
            f"{len(found.judges)} judges placed {len(found.items)} criteria by relevance and "
            "difficulty.",
            tables=(Table("placements", "Relevance and difficulty", columns, rows),),
            notes=(NOTE,),
        )
    )


def _by_letter(panel: Panel, round: JudgingRound) -> NDArray[np.float64]:
    """Return shares by criterion, a row for every letter: empty for who stood down."""
    places = list(letters_of(panel).values())
    if panel.method == Panel.Method.EBEL:
        placed = ebel_arrays(panel, round)
        judges = placed.judges
        shares = np.full((len(judges), len(placed.items)), np.nan)
        for row, cells in enumerate(placed.placements):
            for column, cell in enumerate(cells):
                if cell is not None:
                    shares[row, column] = placed.shares[row, placed.cells.index(cell)]
    else:
        found = judgement_arrays(panel, round)
        judges, shares = found.judges, found.estimates
    whole = np.full((len(places), shares.shape[1]), np.nan)
    whole[[places.index(name) for name in judges]] = shares
    return whole


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
    missing = int(np.isnan(found.estimates).sum())
    gaps = f" {missing} entries are missing." if missing else ""
    return Section(
        "spread",
        "How the judges saw the pieces",
        f"{len(found.judges)} judges looked at {len(found.items)} pieces.{gaps}",
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
