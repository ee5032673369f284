"""The judgements of a round as arrays, for the analyses in ``assessments.evidence``."""

from dataclasses import dataclass
from string import ascii_uppercase

import numpy as np
from numpy.typing import NDArray

from assessments.engine.numbers import exact
from assessments.models import Judge, Judgement, JudgingRound, Panel
from assessments.queries.panel.asked import (
    CELLS,
    LIMITS,
    LIMITS_KEY,
    Key,
    asked_keys,
    cell_of,
    current_judgements,
)

Own = dict[Key, Judgement]


@dataclass(frozen=True)
class Judgements:
    """One number a judge and item; what a judge did not enter is nan, never filled in.

    ``judges`` are letters (A, B, ...) that a judge keeps through all rounds, ``judge_rows`` the
    same judges. ``items`` are keys of criteria, ids of attempts, or names of limits.
    ``estimates`` is judges x items: shares from 0 to 1 (Angoff, limits), ratings 1 to 5
    (borderline regression), 1 competent or 0 not yet (contrasting groups).
    """

    judges: tuple[str, ...]
    judge_rows: tuple[Judge, ...]
    items: tuple[str, ...]
    estimates: NDArray[np.float64]


@dataclass(frozen=True)
class EbelJudgements:
    """Where each judge placed each criterion, and the share for each cell of the grid.

    ``placements`` is judges x items, a cell such as "essential-easy" or None where missing;
    ``shares`` is judges x cells, from 0 to 1, nan where missing or not in use by the judge.
    """

    judges: tuple[str, ...]
    judge_rows: tuple[Judge, ...]
    items: tuple[str, ...]
    placements: tuple[tuple[str | None, ...], ...]
    cells: tuple[str, ...]
    shares: NDArray[np.float64]


def letters_of(panel: Panel) -> dict[int, str]:
    """Return the letter of each judge by id, in the order of invitation (one query).

    Who stands down keeps the letter: nobody else gets it.
    """
    ids = Judge.objects.filter(panel=panel).order_by("pk").values_list("pk", flat=True)
    return {pk: letter(place) for place, pk in enumerate(ids)}


def letter(place: int) -> str:
    """Return A for 0, Z for 25, AA for 26.

    >>> letter(0), letter(25), letter(26), letter(27)
    ('A', 'Z', 'AA', 'AB')
    """
    before, own = divmod(place, len(ascii_uppercase))
    return (letter(before - 1) if before else "") + ascii_uppercase[own]


def judgement_arrays(panel: Panel, round: JudgingRound) -> Judgements:
    """Return the round's estimates of an Angoff panel, its ratings, or its groups.

    The judges are those seated now: who stood down is left out, and stays on record. Constant
    number of queries (at most six).
    """
    judges, rows, own = _entries(panel, round)
    kind = (
        Judgement.Subject.ATTEMPT
        if panel.method in (Panel.Method.BORDERLINE, Panel.Method.CONTRASTING)
        else Judgement.Subject.CRITERION
    )
    items = _items(panel, kind)
    estimates = np.array(
        [[_number(each.get((kind, item))) for item in items] for each in own], dtype=np.float64
    ).reshape(len(rows), len(items))
    return Judgements(judges, rows, items, estimates)


def ebel_arrays(panel: Panel, round: JudgingRound) -> EbelJudgements:
    """Return the round's placements and shares of an Ebel panel; judges as above."""
    judges, rows, own = _entries(panel, round)
    items = _items(panel, Judgement.Subject.CRITERION)
    placements = tuple(
        tuple(_cell(each.get((Judgement.Subject.CRITERION, item))) for item in items)
        for each in own
    )
    shares = np.array(
        [
            [
                _number(each.get((Judgement.Subject.CELL, cell))) if cell in placed else np.nan
                for cell in CELLS
            ]
            for each, placed in zip(own, placements, strict=True)
        ],
        dtype=np.float64,
    ).reshape(len(rows), len(CELLS))
    return EbelJudgements(judges, rows, items, placements, CELLS, shares)


def limits_arrays(panel: Panel, round: JudgingRound) -> Judgements:
    """Return the limits of the sense check, in the order of ``LIMITS``; judges as above."""
    judges, rows, own = _entries(panel, round)
    estimates = np.full((len(rows), len(LIMITS)), np.nan)
    for place, each in enumerate(own):
        if LIMITS_KEY in each:
            value = each[LIMITS_KEY].value
            estimates[place] = [float(exact(value[name])) for name in LIMITS]
    return Judgements(judges, rows, LIMITS, estimates)


def _entries(
    panel: Panel, round: JudgingRound
) -> tuple[tuple[str, ...], tuple[Judge, ...], list[Own]]:
    """Return letters, seated judges and what stands of each, in the order of the letters."""
    everyone = list(panel.judges.select_related("person").order_by("pk"))
    seated = [
        (letter(place), judge)
        for place, judge in enumerate(everyone)
        if judge.state == Judge.State.SEATED
    ]
    found = current_judgements([round])
    return (
        tuple(name for name, _ in seated),
        tuple(judge for _, judge in seated),
        [found.get((round.pk, judge.pk), {}) for _, judge in seated],
    )


def _items(panel: Panel, kind: str) -> tuple[str, ...]:
    return tuple(key for found, key in asked_keys([panel])[panel.pk] if found == kind)


def _number(row: Judgement | None) -> float:
    if row is None:
        return float("nan")
    if "share" in row.value:
        return float(exact(row.value["share"]))
    if "rating" in row.value:
        return float(row.value["rating"])
    return 1.0 if row.value["group"] == "competent" else 0.0


def _cell(row: Judgement | None) -> str | None:
    return None if row is None else cell_of(row.value)
