"""Sittings as the evidence package reads them: agreement and bias with intervals, over time.

For people to look at. Whether a requirement is reached is decided by assessments.comparison.
"""

from collections.abc import Iterable, Sequence
from typing import Any

from assessments.comparison import Compared
from assessments.engine.kinds import Rated
from assessments.evidence.agreement import CalibrationRow, calibration
from assessments.evidence.results import section_document
from assessments.queries.calibration.standing import Sat


def section_of(sat: Sequence[Sat]) -> dict[str, Any] | None:
    """Return the section on an assessor's sittings, oldest first; None without any score."""
    rows = [row for each in sat for row in _rows(each)]
    return section_document(calibration(rows).section) if rows else None


def _rows(sat: Sat) -> Iterable[CalibrationRow]:
    for row in sat.rows:
        agreed, given = row.agreed.score, row.given.score
        if agreed is None or given is None:
            continue
        yield CalibrationRow(
            sitting=str(sat.sitting.pk),
            when=f"{sat.day.day} {sat.day:%b %Y}",
            piece=sat.sitting.piece.title,
            criterion=row.criterion.key,
            title=row.criterion.title,
            agreed=float(agreed),
            given=float(given),
            steps=_steps(row),
        )


def _steps(row: Compared) -> tuple[float, ...]:
    rule = row.criterion.rule
    return tuple(map(float, rule.scores)) if isinstance(rule, Rated) else (0.0, 1.0)
