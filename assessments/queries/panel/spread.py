"""What everybody entered in a closed round, by letter, ready to be shown."""

from collections.abc import Mapping
from typing import Any

import numpy as np
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_
from numpy.typing import NDArray

from assessments.engine.numbers import exact
from assessments.evidence.judging.spread import spread
from assessments.evidence.results import Section, Table, section_document
from assessments.models import JudgingRound, Panel
from assessments.queries.panel.arrays import ebel_arrays, judgement_arrays, limits_arrays
from assessments.queries.panel.asked import RATINGS, cell_title, judges_pieces

TRAINING = 0
NOTE = N_("The letters stand for the judges. What is missing is never filled in.")


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
        (
            _("Judge {name}").format(name=name),
            *(None if np.isnan(each) else each for each in limits.tolist()),
        )
        for name, limits in zip(found.judges, found.estimates, strict=True)
    )
    entered = sum(row[1] is not None for row in rows)
    columns = ("Judge", _("Lowest cut"), _("Highest cut"), _("Fewest not yet"), _("Most not yet"))
    return section_document(
        Section(
            "limits",
            _("What the judges think reasonable"),
            _(
                "{entered} of {rows_count} judges said between what a reasonable cut lies, and "
                "between "
                "what a reasonable share of trainees not yet meeting it."
            ).format(entered=entered, rows_count=len(rows)),
            tables=(Table("limits", _("Limits of the sense check (shares)"), columns, rows),),
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
    columns = ("Criterion", *(_("Judge {name}").format(name=name) for name in found.judges))
    return section_document(
        Section(
            "placements",
            _("Where the judges placed the criteria"),
            _(
                "{value} of {judges_count} judges "
                "placed all {items_count} criteria by relevance and difficulty."
            ).format(
                value=sum(None not in own for own in found.placements),
                judges_count=len(found.judges),
                items_count=len(found.items),
            ),
            tables=(Table("placements", _("Relevance and difficulty"), columns, rows),),
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
        else {1.0: "Competent", 0.0: _("Not yet")}
    )
    rows = tuple(
        (
            _("Piece {number}").format(number=number),
            *(words.get(value) for value in column.tolist()),
        )
        for number, column in enumerate(found.estimates.T, 1)
    )
    whole = int((~np.isnan(found.estimates)).all(axis=1).sum())
    return Section(
        "spread",
        _("How the judges saw the pieces"),
        _("{whole} of {judges_count} judges judged all {items_count} pieces.").format(
            whole=whole, judges_count=len(found.judges), items_count=len(found.items)
        ),
        tables=(
            Table(
                "pieces",
                _("Judgements by piece"),
                ("Piece", *(_("Judge {name}").format(name=name) for name in found.judges)),
                rows,
            ),
        ),
        notes=(NOTE,),
    )
