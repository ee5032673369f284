"""Agreement on each criterion, and which criteria ask for another look at their wording."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from assessments.evidence.agreement.chance import BeyondChance, Draw, beyond_chance
from assessments.evidence.agreement.proportions import (
    CLOPPER_PEARSON,
    adjacent_agreement,
    exact_agreement,
)
from assessments.evidence.agreement.resampling import resample_counts
from assessments.evidence.agreement.units import DoubleScored, level_pairs
from assessments.evidence.results import Cell, Figure, Result, Table

LEAST = 0.8
LOW, PERHAPS = "Low", "Perhaps low"
MORE = "Too few attempts to be sure: double-score more."


@dataclass(frozen=True, slots=True)
class CriterionAgreement:
    """Agreement on one criterion over the attempts in which it was scored twice or more.

    ``exact`` and ``adjacent`` have Wilson's interval, the ``_sure`` ones that of Clopper and
    Pearson. ``finding`` is "Low", "Perhaps low" or "" by the rule of ``finding``, and ``advice``
    the sentence that goes with it.
    """

    units: DoubleScored
    exact: Figure
    exact_sure: Figure
    adjacent: Figure
    adjacent_sure: Figure
    beyond: BeyondChance
    finding: str
    advice: str


def criterion_agreement(
    units: DoubleScored, *, samples: int, seed: int, least: float = LEAST
) -> CriterionAgreement:
    """The agreement on a criterion that has at least one attempt scored twice."""
    n, levels = len(units.levels), units.levels
    draw = Draw(resample_counts(n, samples, seed), n, samples, seed)
    exact, exact_sure, adjacent, adjacent_sure = (
        _figure(result)
        for result in (
            exact_agreement(levels),
            exact_agreement(levels, method=CLOPPER_PEARSON),
            adjacent_agreement(levels),
            adjacent_agreement(levels, method=CLOPPER_PEARSON),
        )
    )
    found = finding(exact_sure, least)
    return CriterionAgreement(
        units,
        exact,
        exact_sure,
        adjacent,
        adjacent_sure,
        beyond_chance(levels, len(units.steps), draw),
        found,
        advice(units, found) if found else "",
    )


def finding(exact: Figure, least: float = LEAST) -> str:
    """What the exact agreement on a criterion says of it, by its 95 % interval.

    "Low" where the whole interval lies below ``least``; "Perhaps low" where the share does but the
    interval reaches it; else "". ``exact`` has the interval of Clopper and Pearson: Wilson's would
    lie below 0.8 after a single difference. Common practice, no source, for the rule and for 0.8.

    >>> finding(Figure("exact", "Exact", 0.5, 0.4, 0.6)), finding(Figure("e", "E", 0.7, 0.4, 0.9))
    ('Low', 'Perhaps low')
    """
    high = exact.value if exact.high is None else exact.high
    if high < least:
        return LOW
    return PERHAPS if exact.value < least else ""


def confused(units: DoubleScored) -> tuple[tuple[tuple[int, int], ...], int, int]:
    """The pairs of levels that assessors differ between most often; how often; of how many.

    Levels are numbers from 0 up; no pairs where nobody differed.
    """
    apart = np.triu(level_pairs(units.given), 1)
    most, total = int(apart.max()), int(apart.sum())
    if not total:
        return (), 0, 0
    pairs = tuple((int(a), int(b)) for a, b in np.argwhere(apart == most))
    return pairs, most, total


def advice(units: DoubleScored, found: str) -> str:
    """What to look at, in a sentence or two."""
    more = f" {MORE}" if found == PERHAPS else ""
    if len(units.steps) == 2:
        return (
            "Assessors differ on whether this is met: look together at how it is worded and at "
            "how it is checked." + more
        )
    pairs, most, total = confused(units)
    words = " and ".join(f"{a} from {b}" for a, b in pairs)
    times = f"{most} of {total} differences" + (" each" if len(pairs) > 1 else "")
    met = units.met_from
    crossing = [pair for pair in pairs if pair[0] < met <= pair[1]]
    matter = " This decides whether the criterion is met." if crossing else ""
    return (
        f"Assessors tell level {words} differently ({times}): look at the descriptions of these "
        f"levels together.{matter}{more}"
    )


def share_tables(found: tuple[CriterionAgreement, ...]) -> tuple[Table, ...]:
    """Exact and adjacent agreement by criterion, with both kinds of interval."""
    rows, sure = [], []
    for each in found:
        title, n = each.units.item.title, len(each.units.levels)
        # Two levels are never more than one apart: that says nothing of the assessors.
        graded = len(each.units.steps) > 2
        adjacent, adjacent_sure = (
            _cells(result) if graded else (None, None, None)
            for result in (each.adjacent, each.adjacent_sure)
        )
        rows.append((title, n, *_cells(each.exact), *adjacent))
        sure.append((title, *_cells(each.exact_sure)[1:], *adjacent_sure[1:]))
    columns = (
        *("Criterion", "Attempts", "Exact", "Exact from", "Exact to"),
        *("Adjacent", "Adjacent from", "Adjacent to"),
    )
    return (
        Table("agreement_criteria", "Agreement by criterion (Wilson, 95%)", columns, tuple(rows)),
        Table(
            "agreement_criteria_exact",
            "The same, by the exact interval (Clopper-Pearson, 95%)",
            ("Criterion", "Exact from", "Exact to", "Adjacent from", "Adjacent to"),
            tuple(sure),
        ),
    )


def chance_tables(found: tuple[CriterionAgreement, ...]) -> tuple[Table, ...]:
    """Kappa, AC1 and alpha by criterion, and why one of them is missing."""
    rows = []
    missing: dict[tuple[str, str], list[str]] = {}  # criteria that lack a figure for one reason
    for each in found:
        title, beyond = each.units.item.title, each.beyond
        results = (beyond.kappa, beyond.ac1, beyond.alpha)
        rows.append((title, *(cell for result in results for cell in _cells(result))))
        for result in results:
            if not isinstance(result, Figure) or result.low is None:
                missing.setdefault(_gap(result), []).append(title)
    columns = [f"{name}{end}" for name in ("Kappa", "AC1", "Alpha") for end in ("", " from", " to")]
    tables = [
        Table(
            "agreement_chance",
            "Agreement beyond chance by criterion",
            ("Criterion", *columns),
            tuple(rows),
        )
    ]
    if missing:
        tables.append(
            Table(
                "agreement_missing",
                "What could not be computed",
                ("Figure", "Why", "Criteria"),
                tuple((*gap, "; ".join(titles)) for gap, titles in missing.items()),
            )
        )
    return tuple(tables)


def level_table(found: CriterionAgreement) -> Table | None:
    """Which levels assessors gave to the same work; None where they never differed."""
    units = found.units
    pairs = level_pairs(units.given)
    if len(units.steps) < 3 or not np.triu(pairs, 1).any():
        return None
    names = [f"Level {number}" for number in range(len(units.steps))]
    rows = tuple(
        (name, *(None for _ in range(row)), *(int(pair) for pair in pairs[row, row:]))
        for row, name in enumerate(names)
    )
    return Table(
        f"agreement_levels_{units.item.key}",
        f"{units.item.title}: pairs of scores, the lower level by row, the higher by column",
        ("Lower level", *names),
        rows,
    )


def advice_table(found: tuple[CriterionAgreement, ...]) -> Table | None:
    """The criteria to look at, the lowest agreement first; None where there are none."""
    named = sorted(
        (each for each in found if each.finding), key=lambda each: (each.finding, each.exact.value)
    )
    if not named:
        return None
    rows = tuple(
        (each.units.item.title, each.finding, *_cells(each.exact_sure), each.advice)
        for each in named
    )
    columns = ("Criterion", "Agreement", "Exact", "Exact from", "Exact to", "Advice")
    return Table("agreement_advice", "Criteria to look at together", columns, rows, first=True)


def _figure(result: Result) -> Figure:
    assert isinstance(result, Figure), "a criterion with attempts scored twice has its shares"
    return result


def _gap(result: Result) -> tuple[str, str]:
    if isinstance(result, Figure):
        return f"{result.title}: interval", result.interval
    return result.title, result.reason


def _cells(result: Result) -> tuple[Cell, Cell, Cell]:
    if not isinstance(result, Figure):
        return (None, None, None)
    return (result.value, result.low, result.high)
